// Follows a job on the server: events where they come through, else asking.
import { get } from '../../api/client'

export interface Job {
  id: string
  kind: string
  state: 'waiting' | 'running' | 'done' | 'failed'
  progress: number
  words: string
  result?: { lines?: string[]; name?: string }
  error?: string
}

const ended = (job: Job) => job.state === 'done' || job.state === 'failed'
const pause = (ms: number) => new Promise((done) => setTimeout(done, ms))

async function poll(id: string, tell: (job: Job) => void): Promise<Job> {
  for (let wait = 300; ; wait = Math.min(wait * 1.5, 5000)) {
    const job = await get<Job>('jobs/' + id)
    tell(job)
    if (ended(job)) return job
    await pause(wait)
  }
}

/** Resolves when the job has ended; tells of every change on the way. */
export function follow(id: string, tell: (job: Job) => void): Promise<Job> {
  return new Promise((done, fail) => {
    const source = new EventSource(`/api/jobs/${id}/events`)
    source.onmessage = (event) => {
      const job = JSON.parse(String(event.data)) as Job
      tell(job)
      if (!ended(job)) return
      source.close()
      done(job)
    }
    source.onerror = () => {
      source.close()
      poll(id, tell).then(done, fail)
    }
  })
}
