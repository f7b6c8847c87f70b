// What somebody asks of the server from a form: busy while it goes on, and in
// words what was refused.
import { tick } from 'svelte'
import { Problem, type Fault } from './api/client'
import { state as app } from './session.svelte'

export class Attempt {
  busy = $state(false)
  words = $state('')
  faults = $state<Fault[]>([])

  /** within: the form's selector, whose first invalid field gets the focus. */
  constructor(private within = '') {}

  /** What is no refusal is thrown on. */
  async run(doing: () => Promise<unknown>): Promise<void> {
    this.busy = true
    this.words = ''
    this.faults = []
    try {
      await doing()
    } catch (e) {
      if (!(e instanceof Problem)) throw e
      if (e.status === 401) app.expired = true
      this.words = e.message
      this.faults = e.faults
      await tick()
      if (this.within) document.querySelector<HTMLElement>(this.within + ' [aria-invalid="true"]')?.focus()
    } finally {
      this.busy = false
    }
  }

  /** For aria-invalid of a field. */
  invalid(field: string): 'true' | undefined {
    return this.faults.some((f) => f.field === field) ? 'true' : undefined
  }
}

/** Moves the focus once what was asked for is drawn. */
export async function focusOn(id: string): Promise<void> {
  await tick()
  document.getElementById(id)?.focus()
}
