// Conditions entered, tried, saved and varied by the keyboard alone, their
// judgements looked up as known before, and questions asked of them.
// node tools/walk-conditions.mjs ../swardbook OUTDIR
import { mkdirSync, mkdtempSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { tmpdir } from 'node:os'
import { launch } from './browser.mjs'
import { keyboard } from './keys.mjs'
import { check, expect, finish, pictures, serve, signedIn } from './site.mjs'

const [binary, out = mkdtempSync(join(tmpdir(), 'conditions-'))] = process.argv.slice(2)
mkdirSync(out, { recursive: true })
const site = await serve(resolve(binary), join(mkdtempSync(join(tmpdir(), 'conditions-')), 'site'))
const browser = await launch()
const wide = { width: 1280, height: 900 }
const page = await signedIn(browser, site.address, 'manager', { viewport: wide })
page.setDefaultTimeout(15000)
const keys = keyboard(page)
const permit = 'SM/2025/0417'
const sentence = page.locator('#e-sentence')

const { look, step } = pictures(page, out)
const blank = async (of = permit) => {
  await page.goto(site.address + '/#/conditions')
  await page.goto(`${site.address}/#/conditions/${encodeURIComponent(of)}?write=condition`)
  await page.getByRole('heading', { name: /^Add a condition/ }).waitFor()
}
const reads = (words) => page.waitForFunction((w) => document.getElementById('e-sentence')?.textContent.includes(w), words)
async function tryOut() {
  await keys.press('button', 'Try it out')
  await page.locator('#tried-title').waitFor()
}
async function save() {
  await keys.press('button', 'Save in the book')
  await page.locator('#saved-title').waitFor()
}
const api = (path) => page.evaluate(async (p) => (await fetch('/api/' + p)).json(), path)
const history = (id, place, more = '') => api(`conditions/${encodeURIComponent(permit)}/${encodeURIComponent(id)}?place=${place}${more}`)

await step('a noise limit with hours, from a blank form', async () => {
  await blank()
  await keys.choose('Clause', '13')
  await keys.choose('Kind of condition', 'measured')
  await keys.type('Title, a few words', 'noise at the farm by day')
  await keys.type('Id (given when left out)', 'walk-noise')
  await keys.choose('Quantity', 'LAeq')
  await keys.choose('Judged at', 'each of these')
  await keys.tick(page.getByRole('checkbox', { name: /^NM2/ }))
  await keys.type('Judged over each', 'clock hour')
  await keys.choose('Value of a window', 'energy mean')
  await keys.choose('It holds', 'in these hours')
  await keys.type('Days', 'mon-fri')
  await keys.type('From', '08:00')
  await keys.type('To', '18:00')
  await keys.type('Number', '65')
  await keys.type('Unit', 'furlong')
  await page.locator('#e-faults').getByText('furlong').waitFor()
  await look('noise-wrong')
  await keys.type('Unit', 'dB')
  await reads('65 dB')
  const text = await sentence.textContent()
  expect(/NM2/.test(text) && /08:00/.test(text) && /18:00/.test(text), 'the sentence lacks place or hours: ' + text)
  await tryOut()
  expect((await page.locator('section[aria-labelledby="tried-title"] p').count()) > 1, 'the try-out shows no judgement')
  await look('noise-tried')
  const before = await api('conditions')
  expect(!JSON.stringify(before).includes('walk-noise'), 'a try-out was saved')
  await save()
  await look('noise-saved')
})

await step('a look-up table, from a blank form', async () => {
  await blank('WR/0712')
  await keys.choose('Clause', '2.2')
  await keys.choose('Kind of condition', 'measured')
  await keys.type('Id (given when left out)', 'walk-table')
  await keys.choose('Quantity', 'suspended solids')
  await keys.choose('Judged at', 'each of these')
  await keys.tick(page.getByRole('checkbox', { name: /^OUT1/ }))
  await keys.type('Judged over each', 'instant')
  await keys.choose('Value of a window', 'value')
  await keys.type('Number', '40')
  await keys.type('Unit', 'mg/L')
  await keys.choose('They are judged', 'by a look-up table')
  await keys.type('In each', 'calendar year')
  for (const [i, line] of [['4', '7', '1'], ['8', '16', '2'], ['17', '28', '3']].entries()) {
    if (i > 0) await keys.press('button', 'Add a line')
    for (const [c, v] of line.entries()) await keys.type(page.locator(`#r-${i}-${c}`), v)
  }
  await reads('3 of 17 to 28')
  expect(/8.*16.*2/.test(await sentence.textContent()), 'the sentence lacks the table: ' + (await sentence.textContent()))
  await tryOut()
  await look('table-tried')
  await save()
})

await step('an order of acts, from a blank form, seen as text and back', async () => {
  await blank()
  await keys.choose('Clause', '4')
  await keys.choose('Kind of condition', 'ordered')
  await keys.type('Id (given when left out)', 'walk-order')
  await keys.choose(page.locator('#f-first-subject'), 'submission')
  await keys.type(page.locator('#f-first-scheme'), 'soil handling')
  await keys.type(page.locator('#f-first-stage'), 'approved')
  await keys.choose(page.locator('#f-then-subject'), 'work on site')
  await keys.choose(page.locator('#f-then-act'), 'strip')
  await reads('soil handling')
  await keys.press('button', 'As text')
  await page.getByLabel('The condition in the condition language').waitFor()
  const text = await page.getByLabel('The condition in the condition language').inputValue()
  expect(/kind: ordered/.test(text) && /act: strip/.test(text), 'as text it reads ' + text)
  await look('order-text')
  await keys.press('button', 'As a form')
  await page.locator('#f-then-act').waitFor()
  await tryOut()
  await save()
})

const first = await history('walk-noise', 'NM2')
await step('what stops halfway is kept on the device, and can be discarded', async () => {
  await blank()
  await keys.choose('Clause', '14')
  await page.reload()
  await page.getByRole('heading', { name: /^Add a condition/ }).waitFor()
  expect((await page.getByLabel('Clause', { exact: true }).inputValue()) === '14', 'the draft is gone')
  await keys.press('button', 'Discard')
  await page.getByRole('heading', { name: 'Conditions', level: 1 }).waitFor()
})

await step('the permit changed: each version judges its own windows', async () => {
  await page.goto(`${site.address}/#/conditions/${encodeURIComponent(permit)}/walk-noise?place=NM2`)
  await keys.press('link', 'Change this condition')
  await page.getByRole('heading', { name: /^Change condition/ }).waitFor()
  await keys.type('Number', '30')
  await reads('30 dB')
  await keys.pick(page.getByRole('radio', { name: /^The permit changed/ }))
  await keys.press('button', 'Save in the book')
  await page.getByText(/reference/i).and(page.locator('.fault')).first().waitFor()
  await keys.type('Reference of the variation', 'SM/2025/0417/W1')
  await keys.to(page.getByLabel('Its legal date', { exact: true }))
  await page.keyboard.type('04042026')
  await keys.to(page.getByLabel('Issued on (if another day)', { exact: true }))
  await page.keyboard.type('03032026')
  await tryOut()
  await look('varied-tried')
  await save()
  for (const [from, to, limit] of [['2026-03-16', '2026-03-28', '65'], ['2026-04-07', '2026-04-18', '30']]) {
    const list = (await api(`conditions/${encodeURIComponent(permit)}/walk-noise/windows?place=NM2&from=${from}T00:00:00Z&to=${to}T00:00:00Z&limit=200`)).items
    expect(list.length > 20, `${list.length} windows from ${from}`)
    const limits = [...new Set(list.map((w) => w.limit_text))]
    expect(limits.length === 1 && limits[0].includes(limit), `from ${from} the limits are ${limits}`)
  }
  await page.goto(`${site.address}/#/conditions/${encodeURIComponent(permit)}/walk-noise?place=NM2`)
  const versions = page.locator('section:has(> h2:text-is("Versions"))')
  await versions.waitFor()
  expect(/65 dB/.test(await versions.textContent()) && /30 dB/.test(await versions.textContent()), 'the versions are not side by side')
  await look('two-versions')
})

await step('as known before the variation, the earlier verdict stands', async () => {
  const now = await history('walk-noise', 'NM2')
  expect(now.judgement.verdict !== first.judgement.verdict, 'the variation changed nothing')
  await page.goto(`${site.address}/#/conditions/${encodeURIComponent(permit)}/walk-noise?place=NM2`)
  const was = now.history.at(-1)
  await keys.to(page.locator('section:has(h3:text-is("How the verdict changed")) li a').last())
  await page.keyboard.press('Enter')
  await page.getByText(/^As known at/).first().waitFor()
  const text = await page.textContent('main')
  expect(text.includes(was.sentence.slice(1)), 'it does not read as it did: ' + was.sentence)
  expect(!(await page.locator('section:has(> h2:text-is("Versions"))').count()), 'it shows a version that was not known yet')
  await look('known-before')
})

await step('we had it wrong: changed verdicts are listed, and both are kept', async () => {
  await page.goto(`${site.address}/#/conditions/${encodeURIComponent(permit)}/walk-order?write=condition`)
  await page.getByRole('heading', { name: /^Change condition/ }).waitFor()
  await keys.type(page.locator('#f-first-scheme'), 'a scheme nobody wrote')
  await reads('a scheme nobody wrote')
  await keys.pick(page.getByRole('radio', { name: /^We had it wrong/ }))
  await keys.type('What was wrong, and how it was found', 'the wrong scheme was typed')
  await tryOut()
  await look('wrong-tried')
  await save()
  await page.getByText(/judged otherwise than before/).first().waitFor()
  await look('wrong-saved')
})

await step('only applied for: shown in grey, judging nothing', async () => {
  const before = (await history('walk-noise', 'NM2')).judgement.sentence
  await page.goto(`${site.address}/#/conditions/${encodeURIComponent(permit)}/walk-noise?write=condition`)
  await page.getByRole('heading', { name: /^Change condition/ }).waitFor()
  await keys.type('Number', '70')
  await reads('70 dB')
  await keys.pick(page.getByRole('radio', { name: /^It is only applied for/ }))
  await keys.press('button', 'Save in the book')
  await page.getByRole('link', { name: 'It was granted' }).waitFor()
  expect((await history('walk-noise', 'NM2')).judgement.sentence === before, 'what is applied for is judged')
  await look('applied')
})

await step('May I: nothing stands, stands with its clause, stands from a time on', async () => {
  await blank()
  await keys.choose('Clause', '12')
  await keys.choose('Kind of condition', 'interval')
  await keys.type('Id (given when left out)', 'walk-hours')
  await keys.choose('Quantity', 'work on site')
  await keys.choose(page.locator('#f-with-act'), 'noisy work')
  await keys.choose('It holds', 'in these hours')
  await reads('07:00')
  await save()
  await page.goto(site.address + '/#/today')
  const box = page.getByRole('region', { name: 'May I?' })
  for (const [from, to, outcome, words] of [
    ['10:00', '11:00', /nothing stands/, /Nothing on file stands against it/],
    ['22:00', '23:00', /^stands|against/, /clause 12 of SM\/2025\/0417/],
    ['18:00', '20:00', /until/, /19:00/],
  ]) {
    await keys.choose(box.getByLabel('Act', { exact: true }), 'noisy work')
    for (const [label, time] of [[/^From/, from], ['Until', to]]) {
      await keys.to(box.getByLabel(label))
      await box.getByLabel(label).fill('2027-06-07T' + time) // a browser's own date field: its keys are its own
    }
    await keys.press('button', 'Ask the book')
    const answer = box.locator('[data-outcome]')
    await page.waitForFunction((t) => document.querySelector('#may-answer')?.textContent.includes(t), to)
    expect(outcome.test(await answer.getAttribute('data-outcome')), `${from}: ${await answer.getAttribute('data-outcome')}`)
    expect(words.test(await answer.textContent()), `${from}: ${await answer.textContent()}`)
    expect(/This gives no permission/.test(await answer.textContent()), 'it does not say what it is not')
    await look('may-' + from.slice(0, 2))
  }
})

await step('no page errors', () => expect(page.faults.length === 0, page.faults.join('; ')))
await browser.close()
await site.stop()
finish()
