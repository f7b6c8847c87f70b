// What is drawn of readings: a chart walked through by keys and saved with its
// caution, how often which level, a wind rose, and the log of blasts with its line
// and a charge by it; wrong figures refused in words; both widths, axe.
// node tools/walk-readings.mjs ../swardbook OUTDIR
import { mkdirSync, mkdtempSync, readFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { tmpdir } from 'node:os'
import { launch } from './browser.mjs'
import { check, expect, finish, pictures, serve, signedIn } from './site.mjs'

const [binary, out = mkdtempSync(join(tmpdir(), 'readings-'))] = process.argv.slice(2)
mkdirSync(out, { recursive: true })
const site = await serve(resolve(binary), join(mkdtempSync(join(tmpdir(), 'readings-')), 'site'))
const browser = await launch()
const page = await signedIn(browser, site.address, 'officer', { viewport: { width: 1280, height: 900 }, acceptDownloads: true })
page.setDefaultTimeout(15000)
const { look, step } = pictures(page, out)

/** Brings a small logger file in, as the screens do. */
const bring = (id, csv, values) => page.evaluate(async ({ id, csv, values }) => {
  const session = await (await fetch('/api/session')).json()
  const { sha256 } = await (await fetch('/api/files', { method: 'POST', headers: { 'Content-Type': 'text/csv', 'X-CSRF': session.csrf }, body: csv })).json()
  const stamp = csv.startsWith('Time,PPV') ? { stamp: 'instant' } : { stamp: 'begin', interval: '600' }
  const mapping = { time_columns: ['Time'], ...stamp, zone: 'UTC', values }
  const answer = await fetch('/api/imports/' + id, { method: 'PUT', headers: { 'Content-Type': 'application/json', 'X-CSRF': session.csrf }, body: JSON.stringify({ file: sha256, name: 'walk.csv', mapping }) })
  return answer.status + ' ' + (await answer.text()).slice(0, 300)
}, { id, csv, values })
const saved = async (doing) => {
  const [download] = await Promise.all([page.waitForEvent('download'), doing()])
  return readFileSync(await download.path(), 'utf8')
}

await step('a chart is walked through by keys', async () => {
  const hash = await page.evaluate(async () => {
    const today = await (await fetch('/api/today')).json()
    const j = today.not_complied.find((x) => x.unit === 'dB') ?? today.not_complied[0]
    return `#/conditions/${encodeURIComponent(j.permit)}/${encodeURIComponent(j.condition)}?place=${encodeURIComponent(j.place)}`
  })
  await page.goto(site.address + '/' + hash)
  const chart = page.getByRole('slider').first()
  await chart.focus()
  await page.keyboard.press('End')
  const last = await chart.getAttribute('aria-valuetext')
  await page.keyboard.press('Home')
  await page.keyboard.press('ArrowRight')
  const second = await chart.getAttribute('aria-valuetext')
  expect(/dB$/.test(last) && /dB$/.test(second) && last !== second, `${last} | ${second}`)
  expect(await page.getByText(second).count() > 0, 'the words of the cursor do not stand below the chart')
})

await step('what was taken out keeps its values and its reason under the cursor', async () => {
  const status = await page.evaluate(async () => {
    const [, permit, condition, place] = /conditions\/([^/]+)\/([^?]+)\?place=(.*)/.exec(location.hash)
    const one = await (await fetch(`/api/conditions/${permit}/${condition}?place=${place}`)).json()
    const session = await (await fetch('/api/session')).json()
    const until = one.judgement.window.to
    const body = { kind: 'rejection.1', at: new Date(Date.parse(until) - 6 * 3600e3).toISOString(), until: new Date(until).toISOString(), at_precision: 'minute', body: { channel: one.channels[0].code, reason: 'interference' } }
    return (await fetch('/api/entries/' + 'e0'.repeat(16), { method: 'PUT', headers: { 'Content-Type': 'application/json', 'X-CSRF': session.csrf }, body: JSON.stringify(body) })).status
  })
  expect(status === 201, 'the rejection answered ' + status)
  await page.reload()
  const chart = page.getByRole('slider').first()
  await chart.focus()
  await page.keyboard.press('End')
  const words = await chart.getAttribute('aria-valuetext')
  expect(/: [0-9.]+( to [0-9.]+)? dB, does not count: rejected: interference$/.test(words), words)
  const box = await chart.boundingBox()
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 3)
  await page.waitForFunction((w) => document.querySelector('[role=slider]').getAttribute('aria-valuetext') !== w, words)
  await page.getByRole('button', { name: 'Show as table' }).first().click()
  expect((await page.getByRole('cell', { name: 'rejected: interference' }).count()) > 0, 'the table does not say why readings do not count')
  await page.getByRole('button', { name: 'Hide the table' }).first().click()
})

await step('on paper it has a table and light colours', async () => {
  // The line of the light theme is far darker than that of the dark one, and bluer than all else.
  const inked = () => page.evaluate(() => {
    const canvas = document.querySelector('.plot canvas')
    const d = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data
    for (let i = 0; i < d.length; i += 4) if (d[i + 3] > 250 && d[i] < 40 && d[i + 2] > 110 && d[i + 2] < 160) return true
    return false
  })
  const draws = (event) => page.evaluate(async (e) => {
    if (e) dispatchEvent(new Event(e))
    await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))
  }, event)
  await page.emulateMedia({ colorScheme: 'dark' })
  await page.reload()
  await page.locator('.plot canvas').first().waitFor()
  await draws()
  const seen = [await inked()]
  await draws('beforeprint')
  seen.push(await inked())
  await draws('afterprint')
  seen.push(await inked())
  expect(seen.join() === 'false,true,false', 'the light theme is used before, on and after paper: ' + seen)
  await page.emulateMedia({ colorScheme: 'light', media: 'print' })
  await page.getByRole('table', { name: /in short$/ }).first().waitFor()
  await page.emulateMedia({ media: null })
})

await step('it is saved with its caution', async () => {
  const text = await saved(() => page.getByRole('button', { name: 'Save as CSV' }).first().click())
  expect(text.startsWith('# ') && text.includes('time_utc,time_Europe_London,first,least,greatest,last,left_out'), text.slice(0, 300))
})

await step('how often which level', async () => {
  await page.getByRole('button', { name: 'How often which value' }).first().click()
  await page.getByRole('img', { name: /^Distribution of / }).waitFor()
  await look('chart')
})

await step('a wind rose', async () => {
  const rows = Array.from({ length: 144 }, (_, i) => `${new Date(Date.UTC(2026, 3, 5) + i * 600e3).toISOString().slice(0, 19)}Z,${(i % 9) + 0.2},${i % 3 ? 225 + (i % 20) : 350}`)
  const status = await bring('e1'.repeat(16), 'Time,V,D\n' + rows.join('\n') + '\n', [
    { column: 'V', channel: 'WALK-V', quantity: 'weather.wind', unit: 'm/s', place: 'NSR1' }, { column: 'D', channel: 'WALK-D', quantity: 'weather.wind_direction', unit: '°', place: 'NSR1' }])
  expect(status.startsWith('201'), status)
  await page.goto(site.address + '/#/book/wind')
  await page.getByLabel('Speed').selectOption('WALK-V')
  await page.getByLabel('Direction').selectOption('WALK-D')
  await page.getByLabel("From (this device's time)").fill('2026-04-05T02:00')
  await page.getByLabel('Until').fill('2026-04-04T02:00')
  await page.getByRole('button', { name: 'Draw it' }).click()
  await page.getByText('must end after it begins').waitFor()
  await page.getByLabel('Until').fill('2026-04-06T00:00')
  await page.getByRole('button', { name: 'Draw it' }).click()
  await page.getByRole('img', { name: /^Wind rose of WALK-V and WALK-D: mostly from SW/ }).waitFor()
  await look('rose')
})

await step('blasts of the site', async () => {
  await page.goto(site.address + '/#/book/shots')
  await page.getByRole('heading', { name: 'Blasts and vibration' }).waitFor()
  const set = [[120, 25, 6.85], [150, 40, 8.6], [180, 32, 3.9], [210, 50, 5.75], [240, 45, 3.1], [260, 60, 4.6], [300, 50, 2.05], [320, 75, 3.35], [350, 40, 1.28], [380, 60, 2.2], [420, 80, 1.55], [450, 55, 0.92]]
  const at = (i) => new Date(Date.UTC(2026, 3, 1, 12) + i * 864e5).toISOString().slice(0, 19) + 'Z'
  const statuses = await page.evaluate(async ({ set, times }) => {
    const session = await (await fetch('/api/session')).json()
    const out = []
    for (const [i, [distance, charge]] of set.entries()) {
      const id = (0xb0 + i).toString(16).padStart(2, '0').repeat(16)
      const body = { kind: 'blast.1', at: times[i], at_precision: 'minute', places: ['NSR1'], body: { number: String(i + 1), charge_per_delay: String(charge), distance: String(distance), building: 'NSR1' } }
      out.push((await fetch('/api/entries/' + id, { method: 'PUT', headers: { 'Content-Type': 'application/json', 'X-CSRF': session.csrf }, body: JSON.stringify(body) })).status)
    }
    return out
  }, { set, times: set.map((_, i) => at(i)) })
  expect(statuses.every((s) => s === 201), statuses.join(' '))
  const status = await bring('e2'.repeat(16), 'Time,PPV\n' + set.map((s, i) => `${at(i)},${s[2]}`).join('\n') + '\n', [{ column: 'PPV', channel: 'WALK-PPV', quantity: 'vibration.ppv', unit: 'mm/s', place: 'NSR1' }])
  expect(status.startsWith('201'), status)
  await page.reload()
  await page.getByText('by least squares over 12 shots').waitFor()
  await page.getByText(/For the appointed shotfirer/).first().waitFor()
  const text = await saved(() => page.getByRole('button', { name: 'Save as CSV' }).click())
  expect(text.startsWith('# ') && text.split('\r\n').length === 16, text.slice(0, 300))
})

await step('a charge by its line; wrong figures are refused', async () => {
  await page.getByLabel('Distance to the building [m]').fill('far')
  await page.getByRole('button', { name: 'Work it out' }).click()
  await page.getByText('the distance is "far", which is no figure above 0; the limit is missing').waitFor()
  await page.getByLabel('Distance to the building [m]').fill('300')
  await page.getByLabel('Limit of the velocity [mm/s]').fill('90')
  await page.keyboard.press('Enter')
  await page.getByText('Outside the scaled distances that were measured').or(page.getByText('outside the scaled distances that were measured')).first().waitFor()
  await page.getByLabel('Limit of the velocity [mm/s]').fill('6')
  await page.keyboard.press('Enter')
  await page.getByRole('heading', { name: /at most [0-9.]+ kg in one delay, rounded down/ }).waitFor()
  await look('shots')
})

await step('the vibration of a machine, and how far a limit reaches', async () => {
  await page.getByRole('button', { name: 'Estimate the vibration' }).click()
  await page.getByText('no machine is chosen; the distance is missing').waitFor()
  await page.getByLabel('Machine', { exact: true }).selectOption('vibratory roller')
  await page.getByLabel('Distance to the machine [m]').fill('18.288')
  await page.getByLabel(/Limit, if there is one/).fill('5')
  await page.keyboard.press('Enter')
  await page.getByRole('heading', { name: 'vibratory roller, 18.29 m away: 1.43 mm/s, not over the limit' }).waitFor()
  await page.getByText('5 mm/s is passed within 7.96 m of it').waitFor()
  await look('machine')
})

await check('no page errors', () => expect(page.faults.length === 0, page.faults.join('; ')))
await browser.close()
await site.stop()
finish()
