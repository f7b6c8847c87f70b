// Screenshots and axe-core on every screen: light and dark at 1280 px, light
// at 360 px. Fails on violations, page errors and sideways scrolling.
// node tools/looks.mjs ../swardbook OUTDIR
import { mkdirSync, mkdtempSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { tmpdir } from 'node:os'
import { launch } from './browser.mjs'
import { check, expect, finish, serve, signedIn, tooWide, violations } from './site.mjs'

const [binary, out = mkdtempSync(join(tmpdir(), 'looks-'))] = process.argv.slice(2)
mkdirSync(out, { recursive: true })
const site = await serve(resolve(binary), join(mkdtempSync(join(tmpdir(), 'looks-')), 'site'))
const browser = await launch()

const looks = {
  'wide-light': { viewport: { width: 1280, height: 900 }, colorScheme: 'light' },
  'wide-dark': { viewport: { width: 1280, height: 900 }, colorScheme: 'dark' },
  'phone-light': { viewport: { width: 360, height: 740 }, colorScheme: 'light', isMobile: true, hasTouch: true },
}

async function firstCondition(page) {
  return page.evaluate(async () => {
    const today = await (await fetch('/api/today')).json()
    const j = today.not_complied[0]
    return `#/conditions/${encodeURIComponent(j.permit)}/${encodeURIComponent(j.condition)}?place=${encodeURIComponent(j.place)}&window=${j.window.from}`
  })
}
async function twoSurveys(page) {
  return page.evaluate(async () => {
    const list = await (await fetch('/api/surveys')).json()
    const whole = list.filter((s) => /pre-works|restored/i.test(s.purpose))
    const [a, b] = whole.length > 1 ? [whole[0], whole.at(-1)] : [list[0], list.at(-1)]
    return `#/levels?before=${encodeURIComponent(a.ref)}&after=${encodeURIComponent(b.ref)}&tolerance=0.15`
  })
}

for (const [look, context] of Object.entries(looks)) {
  const page = await signedIn(browser, site.address, 'officer', context)
  page.on('console', (m) => m.type() === 'error' && page.faults.push('console: ' + m.text()))
  const screens = {
    today: '#/today', duties: '#/duties', plan: '#/plan', conditions: '#/conditions', condition: await firstCondition(page), book: '#/book', instruments: '#/book/instruments', instrument: '#/book/instruments/SLM1',
    'new-entry': '#/book/new/inspection.1', loggers: '#/book/loggers', wind: '#/book/wind', shots: '#/book/shots', levels: await twoSurveys(page), handover: '#/handover',
  }
  for (const [name, hash] of Object.entries(screens)) {
    await page.goto(site.address + '/' + hash)
    await page.waitForLoadState('networkidle')
    await page.waitForTimeout(700)
    if (name === 'today') { // with a question asked
      await page.getByLabel('Act').selectOption('haul')
      await page.getByRole('button', { name: 'Ask the book' }).click()
      await page.locator('[data-outcome]').waitFor()
    }
    await page.screenshot({ path: join(out, `${name}-${look}.png`), fullPage: true })
    await check(`${name} ${look}: axe`, async () => {
      const words = await violations(page)
      expect(words.length === 0, words.join('\n'))
    })
    await check(`${name} ${look}: no sideways scroll`, async () => {
      const over = await tooWide(page)
      expect(over <= 0, `${over} px too wide`)
    })
  }
  await check(`${look}: no page errors`, () => expect(page.faults.length === 0, page.faults.join('; ')))
  await page.context().close()
}
await browser.close()
await site.stop()
finish()
