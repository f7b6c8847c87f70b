// Shapes of the answers that several screens share.
import type { VerdictWord } from '../parts/Verdict.svelte'

export interface Counts {
  due: number
  judged: number
  complied: number
  not_complied: number
  cannot_be_judged: number
  not_yet_due: number
  not_applicable: number
}

export interface JudgementLine {
  permit: string
  clause: string
  condition: string
  title: string
  severity: string
  place: string
  window: { from: string; to: string }
  verdict: VerdictWord
  value: number | null
  limit: number | null
  shown?: string
  limit_text: string
  margin: number | null
  unit: string
  coverage: number | null
  counts: Counts
  sentence: string
  cause?: string
  remedy?: string
}

export interface Evidence {
  seq: number
  id: string
  kind: string
  ref?: string
}

export interface Judgement extends JudgementLine {
  excluded: { channel: string; reason: string; count: number; seconds: number }[]
  evidence: Evidence[]
  working?: { words: string; value?: string }[]
  rule: string
  digest: string
  months?: Judgement[]
}

export interface EntryLine {
  id: string
  seq: number
  kind: string
  title: string
  places: string[]
  at: string
  until?: string
  precision: string
  recorded: string
  by: string
  by_name: string
  role: string
  supersedes?: string
  withdrawn: boolean
  corrected: boolean
  erased_by?: number
  summary: string
}

export interface Page<T> {
  items: T[]
  next?: string
}
