// A logger that sends by itself: set up after the way a file was read, its token
// shown once, wrong rows refused in words on both sides, rows kept and marked as
// not yet sealed, a pack that seals them, and its end. By keyboard where a person
// would type; axe at 360 and 1280 px.
// node tools/walk-loggers.mjs ../swardbook OUTDIR
import { mkdirSync, mkdtempSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { tmpdir } from 'node:os'
import { launch } from './browser.mjs'
import { check, expect, finish, pictures, serve, signedIn } from './site.mjs'

const [binary, out = mkdtempSync(join(tmpdir(), 'loggers-'))] = process.argv.slice(2)
mkdirSync(out, { recursive: true })
const site = await serve(resolve(binary), join(mkdtempSync(join(tmpdir(), 'loggers-')), 'site'))
const browser = await launch()
const page = await signedIn(browser, site.address, 'officer', { viewport: { width: 1280, height: 900 } })
page.setDefaultTimeout(15000)
const { look, step } = pictures(page, out)
const loggers = () => page.evaluate(async () => (await (await fetch('/api/loggers')).json()).loggers)
let token = ''
let columns = []
const push = (body, type = 'text/csv') => fetch(site.address + '/api/push', { method: 'POST', headers: { Authorization: 'Bearer ' + token, 'Content-Type': type }, body })

await step('there is none', async () => {
  await page.goto(site.address + '/#/book')
  await page.getByRole('link', { name: 'Loggers that send by themselves' }).click()
  await page.getByText('None is set up.').waitFor()
})

await step('a name that is none is refused at its field', async () => {
  await page.getByLabel('Its rows are read as this file was').selectOption({ index: 1 })
  await page.getByLabel('Name, in small letters').fill('Logger 7')
  await page.keyboard.press('Enter')
  await page.getByText('is no name of a logger').waitFor()
  expect(await page.evaluate(() => document.activeElement.id) === 'logger-name', 'the focus is elsewhere')
  await look('name-refused')
})

await step('it is set up and its token told once', async () => {
  await page.getByLabel('Name, in small letters').fill('walk-logger')
  await page.keyboard.press('Enter')
  await page.getByRole('heading', { name: 'walk-logger may send now' }).waitFor()
  token = (await page.locator('#token').textContent()).trim()
  const [one] = await loggers()
  columns = one.columns
  expect(token.length > 40 && columns.length >= 2, `${token.length} characters, columns ${columns}`)
  expect(!JSON.stringify(one).includes(token), 'the list tells the token')
  await look('token')
})

await step('the example it shows is taken as it stands', async () => {
  const text = await page.locator('pre').first().textContent()
  const answer = await push(text)
  const said = await answer.json()
  expect(answer.status === 200 && said.kept + said.already === 1 || answer.status === 409, `status ${answer.status}: ${JSON.stringify(said)}`)
})

await step('rows with a column too many are refused in words, and the screen says so', async () => {
  const answer = await push([...columns, 'extra'].join(',') + '\n')
  expect(answer.status === 422, `status ${answer.status}`)
  await page.getByRole('button', { name: 'Look again' }).click()
  await page.getByText('this logger was not set up with such a column').waitFor()
})

await step('what waits is counted, and a pack seals it', async () => {
  await page.reload()
  const before = (await loggers())[0].spooled
  await page.goto(site.address + '/#/handover')
  await page.getByRole('button', { name: /make/i }).first().click()
  await page.getByText(/made /).first().waitFor({ timeout: 60000 })
  const after = (await loggers())[0].spooled
  expect(after === 0, `${before} rows waited, ${after} still do`)
})

await step('it is ended after it is asked again', async () => {
  await page.goto(site.address + '/#/book/loggers')
  await page.getByRole('button', { name: 'End walk-logger…' }).click()
  await page.getByRole('button', { name: 'End walk-logger for good' }).click()
  await page.getByText('its token counts no longer').waitFor()
  expect((await push(columns.join(',') + '\n')).status === 401, 'its token still counts')
})

await step('the screen at both widths', () => look('loggers'))

await check('no page errors', () => expect(page.faults.length === 0, page.faults.join('; ')))
await browser.close()
await site.stop()
finish()
