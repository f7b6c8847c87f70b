// A page worked by the keyboard alone: Tab to a control, type, choose, press.
// Nothing here clicks, and nothing sets a value past the keyboard.

/** A page's keyboard, with words for what a person does. */
export function keyboard(page) {
  const on = (target) => target.evaluate((n) => n === document.activeElement || n.contains(document.activeElement))

  /** Tabs forward until the control has the focus. */
  async function to(target, most = 400) {
    await target.waitFor()
    for (let i = 0; i < most; i++) {
      if (await on(target)) return
      await page.keyboard.press('Tab')
    }
    throw new Error('Tab does not reach ' + target)
  }
  async function type(label, text) {
    const target = field(label)
    await to(target)
    await page.keyboard.press('ControlOrMeta+a')
    await page.keyboard.type(text)
  }
  /** Types the first letters of an option until it is chosen. */
  async function choose(label, words) {
    const target = field(label)
    await to(target)
    await page.keyboard.type(words)
    await page.keyboard.press('Enter')
    const chosen = await target.evaluate((n) => n.selectedOptions[0]?.textContent.trim() ?? '')
    if (!chosen.startsWith(words)) throw new Error(`typing "${words}" chose "${chosen}"`)
    await page.keyboard.press('Escape')
  }
  async function tick(label) {
    const target = field(label)
    await to(target)
    await page.keyboard.press('Space')
  }
  /** Reaches a radio group and moves inside it to the one named. */
  async function pick(label) {
    const target = field(label)
    const group = page.locator(`input[name="${await target.getAttribute('name')}"]`)
    for (let i = 0; i < 400; i++) {
      if (await group.evaluateAll((l) => l.includes(document.activeElement))) break
      await page.keyboard.press('Tab')
    }
    for (let i = 0; i < 8 && !(await target.isChecked()); i++) await page.keyboard.press('ArrowDown')
    if (!(await target.isChecked())) throw new Error('the arrow keys do not reach ' + label)
  }
  async function press(role, name) {
    const target = page.getByRole(role, { name }).first()
    await to(target)
    await page.keyboard.press('Enter')
  }
  const field = (label) => (typeof label === 'object' && 'waitFor' in label ? label : page.getByLabel(label, typeof label === 'string' ? { exact: true } : {}).first())
  return { to, type, choose, tick, pick, press }
}
