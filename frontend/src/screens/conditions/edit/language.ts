// The condition language as a form holds it: what the server reads is text in
// the language's own keys; here it is taken apart into fields and put together.

/** A condition, happening or slot in the keys of the language. */
export type Keys = { [key: string]: Value }
export type Value = string | number | boolean | Value[] | Keys

export interface Schema {
  properties: Record<string, Rule>
  allOf: { if: { properties: { kind: { const: string } } }; then: { propertyNames: { enum: string[] } } }[]
}
export interface Rule {
  description?: string
  enum?: string[]
  examples?: (string | number)[]
  anyOf?: Rule[]
  properties?: Record<string, Rule>
  items?: Rule
}

/** The keys that a kind takes, in the language's order. */
export function keysOf(schema: Schema, kind: string): string[] {
  return schema.allOf.find((a) => a.if.properties.kind.const === kind)?.then.propertyNames.enum ?? []
}

/** The words that a key may hold. */
export function wordsOf(schema: Schema, key: string): string[] {
  const rule = schema.properties[key]
  return rule?.enum ?? rule?.anyOf?.find((r) => r.enum)?.enum ?? []
}

/** Drops what another kind took and this one does not. */
export function fitted(form: Keys, keys: string[]): Keys {
  return Object.fromEntries(Object.entries(form).filter(([k, v]) => keys.includes(k) && v !== ''))
}

export function isKeys(v: Value | undefined): v is Keys {
  return typeof v === 'object' && !Array.isArray(v)
}

/** A value as one line of text; what is no text is written as JSON. */
export function textOf(v: Value | undefined): string {
  if (v === undefined) return ''
  return typeof v === 'object' ? JSON.stringify(v) : String(v)
}

export type LimitForm = 'compare' | 'between' | 'background' | 'above' | 'below' | 'share' | 'text'

export interface Limit {
  form: LimitForm
  compare: string
  value: string
  high: string
  unit: string
  other: string
  floor: string
  cap: string
  ends: string
  text: string
}

const number = String.raw`(-?\d+(?:\.\d+)?)`
const compare = String.raw`(<=|≤|at most|<|less than|>=|≥|at least|>|more than|=)`
const forms: [LimitForm, RegExp][] = [
  ['background', new RegExp(`^(?:(?:<=|≤|at most) )?background (\\S+) \\+ ${number} ([^\\s,]+)(?:, floor ${number})?(?:, cap ${number})?$`)],
  ['between', new RegExp(`^between ${number} and ${number}(?: ([^,]+))?(?:, (low end excluded|high end excluded))?$`)],
  ['above', new RegExp(`^${compare} ?${number} (\\S+) above (?!surface )(\\S+)$`)],
  ['below', new RegExp(`^${compare} ?${number} (\\S+) below (\\S+)$`)],
  ['share', new RegExp(`^${compare} ?${number} ?% of (\\S+)$`)],
  ['compare', new RegExp(`^${compare} ?${number}(?: (\\S+))?$`)],
]
const signs: Record<string, string> = { '≤': '<=', 'at most': '<=', 'less than': '<', '≥': '>=', 'at least': '>=', 'more than': '>' }

export const noLimit: Limit = { form: 'compare', compare: '<=', value: '', high: '', unit: '', other: '', floor: '', cap: '', ends: '', text: '' }

/** Takes a limit apart. What no field holds stays a text. */
export function limitOf(v: Value | undefined): Limit {
  const text = textOf(v)
  if (!text) return { ...noLimit }
  for (const [form, pattern] of forms) {
    const m = pattern.exec(text)
    if (!m) continue
    const out = { ...noLimit, form, text }
    const [, a = '', b = '', c = '', d = '', e = ''] = m
    if (form === 'background') return { ...out, other: a, value: b, unit: c, floor: d, cap: e }
    if (form === 'between') return { ...out, value: a, high: b, unit: c.trim(), ends: d }
    out.compare = signs[a] ?? a
    out.value = b
    if (form === 'share') return { ...out, other: c }
    return { ...out, unit: c, other: d }
  }
  return { ...noLimit, form: 'text', text }
}

/** Puts a limit together; "" while it holds nothing. */
export function limitText(l: Limit): string {
  const unit = l.unit ? ' ' + l.unit : ''
  switch (l.form) {
    case 'text':
      return l.text
    case 'between':
      return l.value || l.high ? `between ${l.value} and ${l.high}${unit}${l.ends ? ', ' + l.ends : ''}` : ''
    case 'background':
      return l.value || l.other ? `background ${l.other} + ${l.value}${unit}${l.floor ? ', floor ' + l.floor : ''}${l.cap ? ', cap ' + l.cap : ''}` : ''
    case 'above':
    case 'below':
      return l.value || l.other ? `${l.compare} ${l.value}${unit} ${l.form} ${l.other}` : ''
    case 'share':
      return l.value || l.other ? `${l.compare} ${l.value} % of ${l.other}` : ''
  }
  return l.value ? `${l.compare} ${l.value}${unit}` : ''
}

export interface Outer {
  form: 'every' | 'at most' | 'at most share' | 'look-up table' | 'mean' | 'last' | 'at least of' | 'text'
  k: string
  n: string
  per: string
  table: string[][]
  text: string
}

/** Takes the rule from windows to a verdict apart. */
export function outerOf(v: Value | undefined): Outer {
  const out: Outer = { form: 'every', k: '', n: '', per: '', table: [['', '', '']], text: '' }
  if (isKeys(v)) {
    const table = v['look-up table']
    if (!Array.isArray(table)) return { ...out, form: 'text', text: JSON.stringify(v) }
    return { ...out, form: 'look-up table', per: textOf(v.per), table: table.map((line) => (Array.isArray(line) ? line.map((c) => textOf(c)) : ['', '', ''])) }
  }
  const text = textOf(v)
  if (!text || text === 'every') return out
  if (text === 'last') return { ...out, form: 'last' }
  let m = /^at most (\d+) per (.+)$/.exec(text)
  if (m) return { ...out, form: 'at most', k: m[1] ?? '', per: m[2] ?? '' }
  m = /^at most ([\d.]+) ?% per (.+)$/.exec(text)
  if (m) return { ...out, form: 'at most share', k: m[1] ?? '', per: m[2] ?? '' }
  m = /^at least (\d+) of (\d+)$/.exec(text)
  if (m) return { ...out, form: 'at least of', k: m[1] ?? '', n: m[2] ?? '' }
  m = /^mean per (.+)$/.exec(text)
  if (m) return { ...out, form: 'mean', per: m[1] ?? '' }
  return { ...out, form: 'text', text }
}

/** Puts the rule together; undefined is each window by itself. */
export function outerValue(r: Outer): Value | undefined {
  switch (r.form) {
    case 'every':
      return undefined
    case 'last':
      return 'last'
    case 'at most':
      return `at most ${r.k} per ${r.per}`
    case 'at most share':
      return `at most ${r.k} % per ${r.per}`
    case 'at least of':
      return `at least ${r.k} of ${r.n}`
    case 'mean':
      return `mean per ${r.per}`
    case 'look-up table': {
      const lines = r.table.filter((line) => line.some((c) => c !== ''))
      return { 'look-up table': lines, per: r.per }
    }
  }
  return r.text
}

/** Takes a statistic apart into its name and its number. */
export function statisticOf(v: Value | undefined): { name: string; number: string } {
  const m = /^(percentile|lower bound|energy mean over) (.+)$/.exec(textOf(v))
  if (!m) return { name: textOf(v), number: '' }
  return { name: m[1] ?? '', number: m[1] === 'energy mean over' ? (m[2] ?? '').replace(/ ?h$/, '') : (m[2] ?? '') }
}

export function statisticText(name: string, n: string): string {
  if (name === 'energy mean over') return `energy mean over ${n} h`
  return name === 'percentile' || name === 'lower bound' ? `${name} ${n}` : name
}

/** Values that go as text: decimals stay as typed. */
export function sendable(form: Keys): Keys {
  const clean = (v: Value): Value | undefined => {
    if (typeof v === 'number') return String(v)
    if (Array.isArray(v)) {
      const list = v.map(clean).filter((x): x is Value => x !== undefined)
      return list.length ? list : undefined
    }
    if (isKeys(v)) {
      const kept = Object.entries(v)
        .map(([k, x]) => [k, clean(x)] as const)
        .filter((e): e is readonly [string, Value] => e[1] !== undefined)
      return kept.length ? Object.fromEntries(kept) : undefined
    }
    return v === '' ? undefined : v
  }
  return (clean(form) as Keys | undefined) ?? {}
}
