// One walk per role through the demonstration, in a real browser.
// node tools/walk.mjs ../swardbook FOLDER
import { execFileSync } from 'node:child_process'
import { mkdtempSync, writeFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { tmpdir } from 'node:os'
import { launch } from './browser.mjs'
import { accounts, check, expect, finish, serve, signedIn } from './site.mjs'

const [binary, folder = mkdtempSync(join(tmpdir(), 'walk-'))] = process.argv.slice(2)
const site = await serve(resolve(binary), join(folder, 'site'))
const browser = await launch()
// A 1 × 1 PNG.
const photo = Buffer.from('iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==', 'base64')

const officer = await signedIn(browser, site.address, 'officer')
let entry = ''

await check('officer adds an hour-meter reading', async () => {
  await officer.goto(site.address + '/#/book/new/hour_meter.1')
  await officer.getByLabel('Machine').fill('GEN-1')
  await officer.getByLabel(/^Reading/).fill('99120.5')
  await officer.getByRole('button', { name: 'Save in the book' }).click()
  await officer.getByRole('heading', { name: /^Entry \d+/ }).waitFor()
  expect((await officer.textContent('main')).includes('99120.5'), 'the reading is not shown as typed')
  entry = officer.url().split('/').pop()
})

await check('officer corrects it and sees both', async () => {
  await officer.getByRole('link', { name: 'Correct this entry' }).click()
  await officer.getByLabel(/^Reading/).fill('9912.5')
  await officer.getByLabel('Why it is corrected').fill('a digit too many')
  await officer.getByRole('button', { name: 'Save in the book' }).click()
  await officer.waitForFunction((old) => !location.hash.endsWith(old) && /^#\/book\/[0-9a-f]{32}$/.test(location.hash), entry)
  await officer.getByRole('heading', { name: 'Line of corrections' }).waitFor()
  const items = await officer.locator('section:has(h2:text("Line of corrections")) li').count()
  expect(items === 2, `the line shows ${items} entries, not 2`)
})

await check('a wrong number is refused in words, and nothing typed is lost', async () => {
  await officer.goto(site.address + '/#/book/new/hour_meter.1')
  await officer.getByLabel('Machine').fill('GEN-1')
  await officer.getByLabel(/^Reading/).fill('12,5')
  await officer.getByRole('button', { name: 'Save in the book' }).click()
  await officer.getByRole('alert').first().waitFor()
  expect((await officer.getByLabel(/^Reading/).inputValue()) === '12,5', 'what was typed is gone')
  expect((await officer.getByLabel(/^Reading/).getAttribute('aria-invalid')) === 'true', 'the field is not marked')
  await officer.getByRole('button', { name: 'Discard' }).click()
})

await check('officer adds an inspection with a photo', async () => {
  await officer.goto(site.address + '/#/book/new/inspection.1')
  const lists = officer.getByLabel('Checklist')
  await lists.waitFor()
  await lists.selectOption({ index: 1 })
  for (const one of await officer.locator('fieldset .item select').all()) await one.selectOption('satisfactory')
  await fillRequired(officer)
  await officer.getByLabel('Add a photo or file').setInputFiles({ name: 'mound.png', mimeType: 'image/png', buffer: photo })
  await officer.getByText('mound.png').waitFor()
  await officer.getByRole('button', { name: 'Save in the book' }).click()
  await officer.getByRole('heading', { name: /^Entry \d+/ }).waitFor()
  await officer.getByRole('heading', { name: 'Files' }).waitFor()
})

await check('a session that ends mid-form loses nothing', async () => {
  await officer.goto(site.address + '/#/book/new/diary.1')
  await officer.getByRole('button', { name: 'Save in the book' }).waitFor()
  const words = officer.locator('form textarea').first()
  await words.fill('Grass cut along the silt fence.')
  await officer.context().clearCookies()
  await officer.getByRole('button', { name: 'Save in the book' }).click()
  await officer.getByRole('heading', { name: 'Sign in again' }).waitFor()
  await officer.getByLabel('Name', { exact: true }).fill('officer')
  await officer.getByLabel('Password').fill(accounts.officer)
  await officer.getByRole('button', { name: 'Sign in' }).click()
  await officer.getByRole('heading', { name: 'Sign in again' }).waitFor({ state: 'detached' })
  expect((await words.inputValue()) === 'Grass cut along the silt fence.', 'what was typed is gone')
})

await check('two corrections of one entry: the second is told and shown the first', async () => {
  const open = async () => {
    const page = await officer.context().newPage()
    await page.goto(`${site.address}/#/book/new/hour_meter.1?corrects=${entry}`)
    return page
  }
  const late = await open()
  await late.getByLabel('Why it is corrected').fill('I thought it was still wrong')
  await late.getByRole('button', { name: 'Save in the book' }).click()
  await late.getByText('took its place').waitFor()
  expect(await late.getByRole('link', { name: 'Correct that one instead' }).isVisible(), 'no way on')
  await late.close()
})

const manager = await signedIn(browser, site.address, 'manager')
await check('manager opens Today and the working of a window that is not complied', async () => {
  const section = manager.locator('section:has(h2:text-is("Not complied"))')
  await section.getByRole('link').first().click()
  await manager.getByRole('heading', { name: 'Windows' }).waitFor()
  await manager.getByLabel('Show', { exact: true }).selectOption('not complied')
  const windows = manager.locator('section:has(h2:text-is("Windows"))')
  await windows.locator('tbody a').first().click()
  const working = manager.getByRole('region', { name: 'Working' })
  await working.locator('ol li').first().waitFor()
  expect((await working.locator('ol li').count()) >= 2, 'the working has fewer than two steps')
  await working.getByRole('link', { name: 'Open a finding from it' }).click()
  expect((await manager.getByLabel('What was found').inputValue()).includes('not complied') && (await manager.getByLabel(/^Condition/).inputValue()) !== '', 'the finding does not say what it comes from')
  await manager.getByLabel(/^Number/).fill('F-W1')
  await manager.getByLabel('Severity').selectOption('minor')
  await manager.getByLabel(/^Post to put it right/).fill('foreman')
  await manager.getByLabel(/^By/).fill('2030-01-01')
  await manager.getByRole('button', { name: 'Save in the book' }).click()
  await manager.getByRole('heading', { name: /^Entry \d+/ }).waitFor()
  await manager.goto(site.address + '/#/duties?post=foreman')
  await manager.getByText('finding F-W1, minor').waitFor()
})

await check('manager asks before acting, sees what stands, and keeps the decision', async () => {
  await manager.goto(site.address + '/#/today')
  const box = manager.getByRole('region', { name: 'May I?' })
  await box.getByLabel('Act').selectOption('noisy work')
  await box.getByLabel(/^From/).fill('2027-06-07T23:00')
  await box.getByLabel('Until').fill('2027-06-07T22:00')
  await box.getByRole('button', { name: 'Ask the book' }).click()
  await box.getByText('the act ends before it begins').waitFor()
  await box.getByLabel('Until').fill('2027-06-08T01:00')
  await box.getByRole('button', { name: 'Ask the book' }).click()
  const answer = box.locator('[data-outcome]')
  await answer.waitFor()
  const text = await answer.textContent()
  expect(text.includes('This gives no permission'), 'the answer does not say what it is not: ' + text)
  expect(text.includes('Not checked'), 'it does not say what was not checked')
  await box.getByLabel(/^What is decided/).fill('We do not.')
  await box.getByRole('button', { name: 'Keep question and answer' }).click()
  await box.getByRole('link', { name: 'the entry' }).click()
  await manager.getByRole('heading', { name: /^Entry \d+/ }).waitFor()
  expect((await manager.textContent('main')).includes('We do not.'), 'the entry lacks the decision')
})

await check('officer sets a hold; it stands on Today and on the Plan, and the officer cannot lift it', async () => {
  await officer.goto(site.address + '/#/book/new/hold.1')
  await officer.getByLabel('Act').selectOption('strip')
  await officer.getByLabel('Why', { exact: true }).fill('Topsoil plastic when rolled by hand.')
  await officer.getByLabel('Role that may lift it').fill('specialist')
  await officer.getByRole('button', { name: 'Save in the book' }).click()
  await officer.getByRole('heading', { name: /^Entry \d+/ }).waitFor()
  for (const screen of ['today', 'plan']) {
    await officer.goto(site.address + '/#/' + screen)
    await officer.getByRole('region', { name: 'Holds' }).getByText('Topsoil plastic').waitFor()
  }
  await officer.getByRole('region', { name: 'Holds' }).getByRole('link').click()
  await officer.getByRole('link', { name: 'Correct this entry' }).click()
  await officer.getByLabel('Lifted').check()
  await officer.getByLabel('Why it is corrected').fill('it has dried')
  await officer.getByRole('button', { name: 'Save in the book' }).click()
  await officer.getByText('may be lifted or eased only by the role').waitFor()
  await officer.getByRole('button', { name: 'Discard' }).click()
})

await check('a finding is a duty, is put right from the list, checked, and gone', async () => {
  await officer.goto(site.address + '/#/duties')
  const overdue = officer.locator('section:has(h2:text("Overdue")) li', { hasText: 'bowl south-west' })
  await overdue.getByText('carried up for everyone').waitFor()
  for (const stage of ['put right', 'checked and accepted']) {
    await officer.goto(site.address + '/#/duties')
    await officer.locator('li', { hasText: 'bowl south-west' }).getByRole('link', { name: /^Enter: / }).click()
    await officer.getByLabel('What was done').waitFor()
    expect((await officer.getByLabel(/^Stage/).inputValue()) === stage, 'the form does not say the stage')
    expect(/^I-\d+\.1$/.test(await officer.getByLabel(/^Number of the finding/).inputValue()), 'the form does not name the finding')
    await officer.getByLabel('What was done').fill('Filled with 4 m³ and raked.')
    await officer.getByRole('button', { name: 'Save in the book' }).click()
    await officer.getByRole('heading', { name: /^Entry \d+/ }).waitFor()
  }
  await officer.goto(site.address + '/#/duties')
  await officer.locator('section:has(h2:text("Done")) li', { hasText: 'bowl south-west' }).getByRole('link', { name: 'the entry' }).click()
  await officer.getByText('checked and accepted').first().waitFor()
})

await check('a calendar link is made, read without signing in, and ended', async () => {
  await officer.goto(site.address + '/#/duties')
  await officer.getByRole('button', { name: 'Make a link' }).click()
  const link = await officer.getByLabel('The link, shown this once').inputValue()
  const text = await (await fetch(link)).text()
  expect(text.startsWith('BEGIN:VCALENDAR\r\n') && text.includes('duties of the officer'), 'the calendar reads ' + text.slice(0, 200))
  await officer.getByRole('button', { name: 'End the link' }).click()
  await officer.getByRole('button', { name: 'Make a link' }).waitFor()
  expect((await fetch(link)).status === 404, 'the link still answers')
})

await check('before the first sod: what is missing stands against the start', async () => {
  await manager.goto(site.address + '/#/book/new/needed.1')
  await manager.getByLabel('What it is').fill('Second field: survey of its levels')
  await manager.getByLabel('Sort', { exact: true }).selectOption('levels')
  await manager.getByLabel(/^Needed by/).fill('2030-01-02')
  await manager.getByRole('button', { name: 'Save in the book' }).click()
  await manager.getByRole('heading', { name: /^Entry \d+/ }).waitFor()
  await manager.goto(site.address + '/#/today')
  const box = manager.getByRole('region', { name: 'May I?' })
  await box.getByLabel('Act', { exact: true }).selectOption('commencement')
  await box.getByRole('button', { name: 'Ask the book' }).click()
  await box.locator('[data-outcome="stands against it"]').waitFor()
  expect((await box.textContent()).includes('Second field: survey of its levels is needed before the start'), await box.textContent())
})

await check('the noise of plant is foretold on the plan, term by term', async () => {
  await manager.goto(site.address + '/#/plan')
  await manager.getByText('What would it sound like?').click()
  await manager.getByRole('group', { name: 'Heard at' }).getByLabel(/NSR1/).check()
  await manager.getByLabel('What it is').fill('excavator')
  await manager.getByRole('group', { name: 'Plant 1' }).getByLabel('At', { exact: true }).selectOption('SH1')
  await manager.getByLabel('LAeq at 10 m, dB').fill('77')
  await manager.getByLabel('On, % of the period').fill('80')
  await manager.getByRole('button', { name: 'Estimate' }).click()
  const box = manager.locator('#foretold')
  await box.getByText('An estimate, not a measurement').waitFor()
  await box.getByText(/^excavator: /).click()
  await box.getByText('on for 80 % of the time').waitFor()
  await manager.getByLabel('On, % of the period').fill('0')
  await manager.getByRole('button', { name: 'Estimate' }).click()
  await manager.getByText('its on-time is not above 0 and up to 100 %').waitFor()
  await manager.getByLabel('On, % of the period').fill('all')
  await manager.getByLabel('LAeq at 10 m, dB').fill('')
  await manager.getByRole('button', { name: 'Estimate' }).click()
  await manager.getByText('the level of plant 1 is missing; the share of time of plant 1 is "all", which is no number').waitFor()
  await manager.getByLabel('Method').selectOption('outdoor')
  await manager.getByLabel('On, % of the period').fill('80')
  await manager.getByLabel(/Octave levels at 10 m/).fill('95 84 79')
  await manager.getByRole('button', { name: 'Estimate' }).click()
  await manager.getByText('the octave levels of plant 1 are not eight figures').waitFor()
  await manager.getByLabel(/Octave levels at 10 m/).fill('95 84 79 73 70 68 64 57')
  await manager.getByLabel(/Wall across it/).fill('4')
  await manager.getByLabel('The wall stands from the plant, m').fill('10')
  await manager.getByLabel(/Level already there/).fill('52')
  await manager.getByRole('button', { name: 'Estimate' }).click()
  await box.getByText('category A, threshold 65 dB: not significant').waitFor()
  await box.getByText(/^excavator: /).click()
  await box.getByText('wall, by octave bands').waitFor()
})

let pack = ''
await check('a pack is made, downloaded, and every judgement verifies the same', async () => {
  await manager.goto(site.address + '/#/handover')
  await manager.getByRole('button', { name: 'Make the pack' }).click()
  const link = manager.locator('section:has(h2:text-is("Packs made")) a[download]').first()
  await link.waitFor({ timeout: 120000 })
  const [download] = await Promise.all([manager.waitForEvent('download'), link.click()])
  pack = join(folder, 'downloaded.zip')
  await download.saveAs(pack)
  const out = execFileSync(resolve(binary), ['verify', pack], { encoding: 'utf8' })
  expect(/all \d+ judgements the same/.test(out), 'verify says: ' + out.split('\n').slice(-4).join(' | '))
})

const regulator = await signedIn(browser, site.address, 'regulator')
await check('regulator reads and cannot write', async () => {
  await regulator.goto(site.address + '/#/book')
  await regulator.getByRole('table').waitFor()
  expect((await regulator.getByRole('navigation', { name: 'Add an entry' }).count()) === 0, 'the regulator is offered entries to add')
  const status = await regulator.evaluate(async () => {
    const session = await (await fetch('/api/session')).json()
    const answer = await fetch('/api/entries/' + 'ab'.repeat(16), {
      method: 'PUT', headers: { 'Content-Type': 'application/json', 'X-CSRF': session.csrf },
      body: JSON.stringify({ kind: 'diary.1', at: '2026-01-01T00:00:00.000Z', at_precision: 'minute', body: {} }),
    })
    return answer.status
  })
  expect(status === 403, `the server answered ${status}, not 403`)
})

const admin = await signedIn(browser, site.address, 'admin')
await check('administrator disables a person, who can no longer sign in', async () => {
  await admin.goto(site.address + '/#/people')
  await admin.getByRole('button', { name: 'Disable regulator' }).click()
  await admin.getByText('regulator is disabled').waitFor()
  await regulator.reload()
  await regulator.getByRole('heading', { name: 'Sign in' }).waitFor()
})

await check('an oversize upload is refused in words', async () => {
  const status = await officer.evaluate(async () => {
    const session = await (await fetch('/api/session')).json()
    const answer = await fetch('/api/files', { method: 'POST', headers: { 'X-CSRF': session.csrf }, body: new Blob([new Uint8Array(66 << 20)]) })
    return [answer.status, (await answer.json()).detail]
  })
  expect(status[0] === 413 && /MiB/.test(status[1]), `answered ${status}`)
})

await check('a server stopped mid-save keeps what was typed', async () => {
  await officer.goto(site.address + '/#/book/new/diary.1')
  await officer.getByRole('button', { name: 'Save in the book' }).waitFor()
  await officer.locator('form textarea').first().fill('Pump stopped for the night.')
  await site.stop()
  await officer.getByRole('button', { name: 'Save in the book' }).click()
  await officer.getByText('The server does not answer').waitFor()
  expect((await officer.locator('form textarea').first().inputValue()) === 'Pump stopped for the night.', 'what was typed is gone')
})

for (const page of [officer, manager, regulator, admin]) {
  await check('no page errors', () => expect(page.faults.length === 0, page.faults.join('; ')))
}
writeFileSync(join(folder, 'walk.done'), '')
await browser.close()
finish()

/** Fills what a form still asks for with the first sensible thing. */
async function fillRequired(page) {
  for (const one of await page.locator('form select[required], form input[required]').all()) {
    if (await one.inputValue()) continue
    const tag = await one.evaluate((n) => n.tagName)
    if (tag === 'SELECT') await one.selectOption({ index: 1 })
    else await one.fill('1')
  }
}
