// What the walks share: starting the demonstration server, signing in, checks.
import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { createRequire } from 'node:module'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'

export const accounts = {
  officer: 'hillside-officer-demo',
  manager: 'hillside-manager-demo',
  regulator: 'hillside-regulator-demo',
  admin: 'hillside-admin-demo',
}

/** Starts "swardbook demo" in a folder on a free port; resolves with its address. */
export async function serve(binary, folder) {
  const child = spawn(binary, ['demo', folder, '--listen', '127.0.0.1:0'], { stdio: ['ignore', 'pipe', 'inherit'] })
  let text = ''
  const address = await new Promise((done, fail) => {
    child.stdout.on('data', (b) => {
      text += b
      const found = /http:\/\/127\.0\.0\.1:\d+/.exec(text)
      if (found) done(found[0])
    })
    child.on('exit', (code) => fail(new Error(`the server ended with ${code}\n${text}`)))
  })
  return {
    address,
    stop: async () => {
      child.removeAllListeners('exit')
      child.kill('SIGTERM')
      await once(child, 'exit')
    },
  }
}

/** Opens a page signed in as one of the demonstration's people. */
export async function signedIn(browser, address, who, context = {}) {
  const ctx = await browser.newContext({ locale: 'en-GB', timezoneId: 'Europe/London', reducedMotion: 'reduce', acceptDownloads: true, ...context })
  const page = await ctx.newPage()
  page.faults = []
  page.on('pageerror', (e) => page.faults.push(String(e.message)))
  page.on('request', (r) => {
    const u = new URL(r.url())
    if (/^https?:$/.test(u.protocol) && u.origin !== address) page.faults.push('asks another host: ' + u.host)
  })
  await page.goto(address)
  await page.getByLabel('Name').fill(who)
  await page.getByLabel('Password').fill(accounts[who])
  await page.getByRole('button', { name: 'Sign in' }).click()
  await page.getByRole('heading', { name: 'Today', level: 1 }).waitFor()
  return page
}

const tally = { passed: 0, failed: 0 }

/** Runs one named check and counts it. */
export async function check(name, doing) {
  try {
    await doing()
    tally.passed++
    console.log('ok   ' + name)
  } catch (e) {
    tally.failed++
    console.log('FAIL ' + name + '\n     ' + String(e.message).split('\n').slice(0, 6).join('\n     '))
  }
}

/** Prints the count and sets the exit code. */
export function finish() {
  console.log(`${tally.passed} passed, ${tally.failed} failed`)
  process.exitCode = tally.failed ? 1 : 0
}

export function expect(truth, words) {
  if (!truth) throw new Error(words)
}

/** The source of axe-core, to be run in a page. */
const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')

/** What axe-core finds wrong with a page, in words; [] where nothing is. */
export async function violations(page) {
  await page.evaluate(axeSource)
  const found = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }))
  return found.violations.map((v) => `${v.id}: ${v.nodes.slice(0, 3).map((n) => n.target.join(' ') + ' ' + (n.any[0]?.message ?? '')).join(' | ')}`)
}

/** How many pixels a page is wider than its window. */
export const tooWide = (page) => page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth)

/** For a walk: look takes pictures at both widths and runs axe; step is a check that leaves a picture of where it failed. */
export function pictures(page, out) {
  const look = async (name) => {
    for (const [width, height] of [[360, 740], [1280, 900]]) {
      await page.setViewportSize({ width, height })
      await page.waitForTimeout(150)
      await page.screenshot({ path: join(out, `${name}-${width}.png`), fullPage: true })
      const words = await violations(page)
      expect(words.length === 0, `${name} at ${width} px: ${words.join('\n')}`)
      const over = await tooWide(page)
      expect(over <= 0, `${name} at ${width} px: ${over} px too wide`)
    }
  }
  const step = (name, doing) => check(name, async () => {
    try {
      await doing()
    } catch (e) {
      await page.screenshot({ path: join(out, 'failed-' + name.replace(/\W+/g, '-') + '.png'), fullPage: true })
      throw e
    }
  })
  return { look, step }
}
