// What is typed but not yet in the book, kept on this device.
import type { Checklist, Field, Kind } from '../../api/types'
import { offsetOf } from './kinds'

export interface Typed {
  id: string
  at: string
  until: string
  place: string
  reason: string
  body: Record<string, unknown>
  files: { sha256: string; name: string; type: string }[]
  made: string
}

interface Old {
  id: string
  at: string
  until?: string
  places?: string[]
  body?: Record<string, unknown>
  files?: string[]
}

function local(iso: string | undefined): string {
  if (!iso) return ''
  const d = new Date(iso)
  return new Date(d.getTime() - d.getTimezoneOffset() * 60e3).toISOString().slice(0, 16)
}

function startOf(field: Field, checklists: Checklist[]): unknown {
  if (field.type === 'flag') return false
  if (field.type === 'list') return field.name === 'items' && checklists[0] ? [] : []
  if (field.type === 'group') return {}
  return ''
}

/** A draft with what a link to the form says already, where nothing is typed yet. */
export function prefilled(typed: Typed, kind: Kind, fill: Record<string, string>, place: string): Typed {
  for (const f of kind.fields) {
    const text = fill[f.name]
    if (text && typeof typed.body[f.name] === 'string' && !typed.body[f.name]) typed.body[f.name] = text
  }
  if (place && !typed.place && kind.place !== 'none') typed.place = place
  return typed
}

/** The draft kept under a key, or a fresh one (from the entry to correct). */
export function draftOf(key: string, kind: Kind, old: Old | null, checklists: Checklist[]): Typed {
  const kept = localStorage.getItem('draft/' + key)
  if (kept) {
    try {
      return JSON.parse(kept) as Typed
    } catch {
      localStorage.removeItem('draft/' + key)
    }
  }
  const body: Record<string, unknown> = {}
  for (const f of kind.fields) body[f.name] = structuredClone(old?.body?.[f.name]) ?? startOf(f, checklists)
  if (old?.body?.ref) body.ref = old.body.ref
  return {
    id: '',
    at: local(old?.at ?? new Date().toISOString()),
    until: local(old?.until),
    place: old?.places?.join('; ') ?? '',
    reason: '',
    body,
    files: (old?.files ?? []).map((sha256) => ({ sha256, name: 'kept from the entry corrected', type: '' })),
    made: new Date().toISOString(),
  }
}

/** Keeps what is typed. */
export function keepDraft(key: string, typed: Typed): void {
  localStorage.setItem('draft/' + key, JSON.stringify(typed))
}

/** Forgets a draft: it is in the book, or was discarded. */
export function clearDraft(key: string): void {
  localStorage.removeItem('draft/' + key)
}

function filled(value: unknown, field: Field | undefined): unknown {
  if (typeof value === 'string') {
    const text = value.trim()
    if (!text) return undefined
    return field?.type === 'integer' && /^-?\d+$/.test(text) ? Number(text) : text
  }
  if (typeof value === 'number') return field?.type === 'integer' ? value : String(value)
  if (Array.isArray(value)) {
    const items = value.map((v) => filled(v, { ...field, type: 'group' } as Field)).filter((v) => v !== undefined)
    return items.length ? items : undefined
  }
  if (value !== null && typeof value === 'object') {
    const entries = Object.entries(value)
      .map(([k, v]) => [k, filled(v, field?.fields?.find((f) => f.name === k))] as const)
      .filter(([, v]) => v !== undefined)
    return entries.length ? Object.fromEntries(entries) : undefined
  }
  return value ?? undefined
}

/** What is sent: absent instead of empty, decimals as typed, times as instants with their offset. */
export function seal(kind: Kind, typed: Typed, old: { id: string } | null, epoch: number): Record<string, unknown> {
  const at = typed.at ? new Date(typed.at) : undefined
  const until = typed.until ? new Date(typed.until) : undefined
  const body: Record<string, unknown> = {}
  for (const [name, value] of Object.entries(typed.body)) {
    const field = kind.fields.find((f) => f.name === name)
    const v = filled(value, field)
    if (v !== undefined && !(field?.type === 'flag' && v === false && !field.required)) body[name] = v
  }
  // A kind's own file field, such as a photograph, is the first file added.
  const own = kind.fields.find((f) => f.type === 'file')
  if (own && typed.files[0]) body[own.name] = typed.files[0].sha256
  else if (own) delete body[own.name]
  return {
    kind: kind.name,
    places: typed.place ? typed.place.split(';').map((p) => p.trim()).filter(Boolean) : undefined,
    at: at?.toISOString(),
    until: until?.toISOString(),
    at_precision: 'minute',
    offset: at ? offsetOf(at) : undefined,
    made: typed.made,
    supersedes: old?.id,
    reason: typed.reason || undefined,
    files: typed.files.length ? typed.files.map((f) => f.sha256) : undefined,
    body,
    epoch,
  }
}
