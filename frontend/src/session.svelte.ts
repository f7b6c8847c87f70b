import { get, setToken, write } from './api/client'
import type { Session, Site } from './api/types'



const nobody: Session = { signed_in: false, person: '', name: '', role: '', csrf: '', epoch: 0, rights: [] }

/** Who is at the screen, and where. `expired` keeps the page while signing in again. */
export const state = $state<{ session: Session; site: Site | null; ready: boolean; expired: boolean }>({
  session: nobody,
  site: null,
  ready: false,
  expired: false,
})

async function take(session: Session): Promise<void> {
  setToken(session.csrf)
  state.session = session
  state.expired = false
  if (session.signed_in) state.site = await get<Site>('site')
}

/** Asks the server who is signed in. */
export async function load(): Promise<void> {
  try {
    await take(await get<Session>('session'))
  } finally {
    state.ready = true
  }
}

/** Signs in; throws a Problem when name or password are wrong. */
export async function signIn(name: string, password: string): Promise<void> {
  await take(await write<Session>('POST', 'session', { name, password }))
}

/** Signs out and forgets who it was. */
export async function signOut(): Promise<void> {
  await write('DELETE', 'session')
  state.session = nobody
  state.site = null
}

/** Tells whether the person signed in may do something. */
export function may(right: string): boolean {
  return state.session.rights.includes(right)
}
