// A logger file as it comes from an instrument of the United States, brought in
// through the four steps: asked, tried, kept, charted, a windy hour rejected,
// the judgement changed with both kept, readings taken out by the wind and back,
// and the import taken back. At last a mean under way, asked on Today.
// node tools/walk-import.mjs ../swardbook OUTDIR
import { mkdirSync, mkdtempSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { tmpdir } from 'node:os'
import { launch } from './browser.mjs'
import { check, expect, finish, pictures, serve, signedIn } from './site.mjs'

const [binary, out = mkdtempSync(join(tmpdir(), 'import-'))] = process.argv.slice(2)
mkdirSync(out, { recursive: true })
const site = await serve(resolve(binary), join(mkdtempSync(join(tmpdir(), 'import-')), 'site'))
const browser = await launch()
const page = await signedIn(browser, site.address, 'officer', { viewport: { width: 1280, height: 900 } })
page.setDefaultTimeout(15000)

const { look, step } = pictures(page, out)

// Two lines of head, a row of units, month first, twelve-hour clock, a clock
// that is never put forward: 5 and 6 April 2026, each minute.
function loggerFile(textAt) {
  const rows = ['Logger 7,Serial 4711', '', 'Date,Time,LAeq', ',,dBA']
  for (let i = 0; i < 2 * 24 * 60; i++) {
    const at = new Date(Date.UTC(2026, 3, 5) + i * 60e3)
    const hour = at.getUTCHours()
    const level = i === textAt ? 'low batt' : hour === 10 && at.getUTCDate() === 6 ? '70.0' : '50.0'
    rows.push(`${at.getUTCMonth() + 1}/${at.getUTCDate()}/2026,${hour % 12 || 12}:${String(at.getUTCMinutes()).padStart(2, '0')}:00 ${hour < 12 ? 'AM' : 'PM'},${level}`)
  }
  return Buffer.from(rows.join('\r\n') + '\r\n')
}
const permit = 'SM/2025/0417'
const one = `conditions/${encodeURIComponent(permit)}/logger-walk?place=NSR1`
const judged = () => page.evaluate(async (p) => (await fetch('/api/' + p)).json(), one)

await step('a condition where the logger stands', async () => {
  const status = await page.evaluate(async ({ permit, id }) => {
    const session = await (await fetch('/api/session')).json()
    const text = 'id: logger-walk\nclause: "13"\nkind: measured\ntitle: noise at the dwelling\nsubject: noise.laeq\nplace: NSR1\nwindow: clock hour\nstatistic: energy mean\nlimit: <= 55 dB\ncoverage: 75 %\nfrom: 2026-04-05\nto: 2026-04-07\n'
    return (await fetch('/api/amendments/' + id, { method: 'PUT', headers: { 'Content-Type': 'application/json', 'X-CSRF': session.csrf }, body: JSON.stringify({ permit, change: 'condition added', text }) })).status
  }, { permit, id: 'ab'.repeat(16) })
  expect(status === 201, `the server answered ${status}`)
})

await step('a wind meter beside it', async () => {
  // 5 April 2026 by UTC, each ten minutes: 3 m/s, but 6.5 m/s from 14:00 to 16:00.
  const rows = Array.from({ length: 144 }, (_, i) => `${new Date(Date.UTC(2026, 3, 5) + i * 600e3).toISOString().slice(0, 19)}Z,${i >= 84 && i < 96 ? '6.5' : '3.0'}`)
  const status = await page.evaluate(async ({ csv, id }) => {
    const session = await (await fetch('/api/session')).json()
    const { sha256 } = await (await fetch('/api/files', { method: 'POST', headers: { 'Content-Type': 'text/csv', 'X-CSRF': session.csrf }, body: csv })).json()
    const mapping = { time_columns: ['Time'], stamp: 'begin', interval: '600', zone: '+00:00', values: [{ column: 'Wind', channel: 'WALK-WIND', quantity: 'weather.wind', unit: 'm/s', place: 'NSR1' }] }
    return (await fetch('/api/imports/' + id, { method: 'PUT', headers: { 'Content-Type': 'application/json', 'X-CSRF': session.csrf }, body: JSON.stringify({ file: sha256, name: 'wind.csv', mapping }) })).status
  }, { csv: 'Time,Wind\n' + rows.join('\n') + '\n', id: 'cd'.repeat(16) })
  expect(status === 201, `the server answered ${status}`)
})

await step('the file is chosen and looked at', async () => {
  await page.goto(site.address + '/#/book')
  await page.getByRole('link', { name: 'Bring in a logger file' }).click()
  await page.getByLabel(/^Logger file/).setInputFiles({ name: 'april.csv', mimeType: 'text/csv', buffer: loggerFile(700) })
  await page.getByText('the names of its columns in line 3').waitFor()
  await look('file')
  await page.getByRole('button', { name: 'Next: its columns' }).click()
})

await step('nothing is guessed: what is open is asked for', async () => {
  await page.getByRole('button', { name: 'Next: what would come in' }).click()
  await page.getByText('the zone of the logger\'s clock is not said').waitFor()
  await page.getByText('it is not said what the stamp marks').waitFor()
  await look('asked')
  await page.getByRole('button', { name: 'Back' }).click()
  expect((await page.getByLabel('Column of the time (or the date)').inputValue()) === 'Date' && (await page.getByLabel('Column of the clock, if apart').inputValue()) === 'Time', 'the time columns are not proposed')
  await page.getByLabel(/all year: winter time/).check()
  await page.getByLabel('The stamp marks').selectOption('begin')
  await page.getByLabel('What it measures').selectOption('noise.laeq')
  await page.getByLabel('Where', { exact: true }).selectOption('NSR1')
  await page.getByLabel('Channel', { exact: true }).fill('NSR1-LAEQ')
  await look('columns')
  await page.getByRole('button', { name: 'Back' }).click()
  const made = page.locator('details').filter({ hasText: 'How the text is made up' })
  if (!(await made.evaluate((d) => d.open))) await made.locator('summary').click()
  await page.getByLabel('Lines to leave out at the end').fill('two')
  await page.getByRole('button', { name: 'Next: its columns' }).click()
  await page.getByRole('button', { name: 'Next: what would come in' }).click()
  await page.getByText('"two" is no number of lines').waitFor()
  await page.getByRole('button', { name: 'Back' }).click()
  if (!(await made.evaluate((d) => d.open))) await made.locator('summary').click()
  await page.getByLabel('Lines to leave out at the end').fill('')
  await page.getByRole('button', { name: 'Next: its columns' }).click()
  await page.getByRole('button', { name: 'Next: what would come in' }).click()
})

await step('day or month first is asked, with what each would mean', async () => {
  await page.getByRole('button', { name: '4 May 2026' }).waitFor()
  await page.getByRole('button', { name: '5 April 2026' }).click()
})

await step('a text among the figures is named by its line, and explained', async () => {
  await page.getByText(/Line 705, LAeq:.*low batt/).waitFor()
  await look('bad-line')
  await page.getByRole('button', { name: 'Back' }).click()
  await page.getByLabel('Texts for no value, parted by commas').fill('low batt')
  await page.getByRole('button', { name: 'Next: what would come in' }).click()
})

await step('what would come in is shown, and what each clock would mean', async () => {
  await page.getByRole('cell', { name: '2880' }).first().waitFor()
  const text = await page.textContent('main')
  expect(/2026-04-05 00:00:00 UTC/.test(text) && /2026-04-04 23:00:00 UTC/.test(text), 'the clocks are not told apart: ' + text)
  await look('trial')
  await page.getByRole('button', { name: 'Next: bring it in' }).click()
  await page.getByRole('button', { name: 'Bring it in' }).click()
  await page.locator('#kept-title').waitFor()
  await look('kept')
})

await step('it is judged, and charted', async () => {
  const j = (await judged()).judgement
  expect(j.verdict === 'not complied' && j.counts.not_complied === 1, `${j.verdict}: ${j.sentence}`)
  await page.goto(`${site.address}/#/${one}`)
  await page.locator('canvas').first().waitFor()
  await look('charted')
})

await step('a windy hour is rejected: the judgement changes, both are kept', async () => {
  await page.goto(site.address + '/#/book/new/rejection.1')
  await page.getByLabel('Channel').fill('NSR1-LAEQ')
  await page.getByLabel('Reason').selectOption('wind')
  await page.getByLabel(/^From/).fill('2026-04-06T11:00') // the device stands in London: 10:00 by the logger
  await page.getByLabel('Until').fill('2026-04-06T12:00')
  await page.getByRole('button', { name: 'Save in the book' }).click()
  await page.getByRole('heading', { name: /^Entry \d+/ }).waitFor()
  const answer = await judged()
  expect(answer.judgement.counts.not_complied === 0 && answer.judgement.counts.cannot_be_judged >= 1, answer.judgement.sentence)
  expect(answer.history.some((h) => h.verdict === 'not complied'), 'the earlier verdict is not kept')
  await page.goto(`${site.address}/#/${one}`)
  await page.getByText('With and without what was left out').click()
  await page.getByText('It makes a difference.').waitFor()
  await look('left-out')
})

await step('readings are taken out by the wind: before and after, done, and taken back', async () => {
  const before = (await judged()).judgement.counts
  await page.goto(site.address + '/#/book')
  await page.getByRole('link', { name: 'Take readings out by a rule' }).click()
  await page.getByLabel('Channel to take readings from').selectOption('NSR1-LAEQ')
  await page.getByLabel('Wherever this channel').selectOption('WALK-WIND')
  await page.getByLabel('Read more than [m/s]').fill('a gale')
  await page.getByLabel('Reason').selectOption('wind')
  await page.getByLabel(/^From/).fill('2026-04-05T01:00')
  await page.getByLabel('Until').fill('2026-04-06T01:00')
  await page.getByRole('button', { name: 'See what it would take out' }).click()
  await page.getByText('a gale is no decimal').waitFor()
  await page.locator('#rule-above:focus').waitFor()
  await page.getByLabel('Read more than [m/s]').fill('9')
  await page.getByRole('button', { name: 'See what it would take out' }).click()
  await page.getByRole('heading', { name: 'It takes nothing out' }).waitFor()
  await page.getByLabel('Read more than [m/s]').fill('5')
  await page.getByRole('button', { name: 'See what it would take out' }).click()
  await page.getByRole('heading', { name: /^120 of 1439 readings/ }).waitFor()
  await page.getByRole('link', { name: 'noise at the dwelling' }).waitFor()
  await look('rule')
  expect((await judged()).judgement.counts.complied === before.complied, 'trying changed what is judged')
  await page.getByRole('button', { name: 'Take 120 readings out' }).click()
  await page.getByText('Done: 1 entry').waitFor()
  const after = (await judged()).judgement.counts
  expect(after.complied === before.complied - 2 && after.cannot_be_judged === before.cannot_be_judged + 2, JSON.stringify({ before, after }))
  await look('rule-done')
  await page.getByLabel('Why it is taken back').fill('the wind meter was iced')
  await page.getByRole('button', { name: 'Take all of it back' }).click()
  await page.getByText('Taken back: 1 entry withdrawn').waitFor()
  expect((await judged()).judgement.counts.complied === before.complied, 'taking it back changed less')
})

await step('a file of the same logger is offered the same reading', async () => {
  await page.goto(site.address + '/#/book/import')
  await page.getByLabel(/^Logger file/).setInputFiles({ name: 'april again.csv', mimeType: 'text/csv', buffer: loggerFile(-1) })
  await page.getByRole('button', { name: /^Read like april.csv/ }).waitFor()
  await page.getByRole('button', { name: 'Next: its columns' }).click()
  await page.getByRole('button', { name: 'Next: what would come in' }).click()
  await page.getByText('One reading differs from what is on file.', { exact: false }).waitFor()
})

await step('the import is taken back, visibly', async () => {
  await page.goto(site.address + '/#/book?kind=import.1')
  await page.getByRole('table').getByRole('link').first().click()
  await page.getByLabel('Reason for withdrawing it').fill('the wrong logger')
  await page.getByRole('button', { name: 'Withdraw' }).click()
  await page.getByText('This entry withdraws the one before it.').waitFor()
  const j = (await judged()).judgement
  expect(j.verdict === 'cannot be judged', `${j.verdict}: ${j.sentence}`)
})

await step('a mean under way: what it is, and what the rest may average', async () => {
  const now = Math.floor(Date.now() / 60e3)
  const rows = Array.from({ length: 120 }, (_, i) => `${new Date((now - 125 + i) * 60e3).toISOString().slice(0, 19)}Z,50.0`)
  const statuses = await page.evaluate(async ({ permit, csv, year }) => {
    const session = await (await fetch('/api/session')).json()
    const headers = { 'Content-Type': 'application/json', 'X-CSRF': session.csrf }
    const put = async (path, body) => (await fetch('/api/' + path, { method: 'PUT', headers, body: JSON.stringify(body) })).status
    const { sha256 } = await (await fetch('/api/files', { method: 'POST', headers: { ...headers, 'Content-Type': 'text/csv' }, body: csv })).json()
    const mapping = { time_columns: ['Time'], stamp: 'begin', interval: '60', zone: '+00:00', values: [{ column: 'LAeq', channel: 'WALK-NOW', quantity: 'noise.laeq', unit: 'dB', place: 'NSR1' }] }
    const text = `id: logger-now\nclause: "13"\nkind: measured\ntitle: noise of the year\nsubject: noise.laeq\nwith: {channel: WALK-NOW}\nplace: NSR1\nwindow: calendar year\nstatistic: energy mean\nlimit: <= 55 dB\nfrom: ${year}-01-01\n`
    return [await put('imports/' + 'ef'.repeat(16), { file: sha256, name: 'now.csv', mapping }), await put('amendments/' + 'ba'.repeat(16), { permit, change: 'condition added', text })]
  }, { permit, csv: 'Time,LAeq\n' + rows.join('\n') + '\n', year: new Date(now * 60e3).getUTCFullYear() })
  expect(statuses.join() === '201,201', `the server answered ${statuses}`)
  await page.goto(site.address + '/#/today')
  const box = page.getByRole('region', { name: 'May I?' })
  await box.getByLabel('Act', { exact: true }).selectOption('noisy work')
  await box.getByRole('button', { name: 'Ask the book' }).click()
  await box.getByRole('heading', { name: 'Under way' }).waitFor()
  const item = await box.getByRole('listitem').filter({ has: page.getByRole('link', { name: 'noise of the year' }) }).textContent()
  expect(/50(\.0)? dB over 2 h so far/.test(item) && /may average 55(\.0)? dB, limit 55 dB/.test(item), item)
  await look('under-way')
})

await check('no page errors', () => expect(page.faults.length === 0, page.faults.join('; ')))
await browser.close()
await site.stop()
finish()
