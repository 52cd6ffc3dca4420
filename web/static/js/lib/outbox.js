import { openDB } from '../../vendor/idb.js'
import { batch, signal } from '../../vendor/signals.js'
import { Refused } from './link.js'

const DATABASE = 'fairlead'
const STORE = 'outbox'
const MOST_AT_ONCE = 100
const FIRST_PAUSE = 1_000
const LONGEST_PAUSE = 30_000
/** Refusals of a whole message that sending it again cannot mend. */
const HOPELESS = new Set(['bad_message', 'too_large', 'too_many_entries'])

/**
 * What this device has recorded and the server has not yet acknowledged.
 *
 * An entry is on disk, with strict durability, before anyone calls it saved. It is sent as often
 * as it takes and forgotten only when acknowledged; the server knows a repeat by its id. One that
 * the server refuses is set aside with the reason. Nothing leaves by age or by number.
 */
export class Outbox {
  /** Entries to be sent, oldest first. */
  waiting = signal([])
  /** Entries that the server refused: `{entry, error: {code, says}}`. */
  refused = signal([])
  #base
  #by = null
  #working = false
  #others = 'BroadcastChannel' in globalThis ? new BroadcastChannel(STORE) : null

  static async open() {
    const box = new Outbox()
    box.#base = await openDB(DATABASE, 1, {
      upgrade: base => { base.createObjectStore(STORE, { keyPath: 'id' }) },
    })
    await box.#read()
    if (box.#others) box.#others.onmessage = () => box.#read()
    return box
  }

  /** Keep entries durably. Rejects when the device could not: then they are not saved. */
  async add(entries) {
    const change = this.#begin()
    const added = Date.now()
    const puts = entries.map((entry, n) => change.store.add({ id: entry.id, entry, added: added + n / 1_000, error: null }))
    await Promise.all([...puts, change.done])
    this.waiting.value = [...this.waiting.value, ...entries]
    this.#others?.postMessage('changed')
  }

  /**
   * Send what waits, now and whenever more comes, by the person signed in.
   *
   * `send(entries)` gives one result for each; `stored([{seq, entry}])` hears of those that are on
   * the record. With several tabs open one sends; without Web Locks (plain http) each does, and
   * the server filters the repeats.
   */
  start(by, send, stored) {
    if (this.#by) return
    this.#by = by
    const work = () => new Promise(() => {
      const go = () => { if (!this.#working) this.#work(send, stored) }
      this.waiting.subscribe(go)
    })
    if (navigator.locks) navigator.locks.request(STORE, work)
    else work()
  }

  /** Entries of somebody else who used this device; they go out when that person signs in again. */
  foreign() {
    return this.waiting.value.filter(entry => this.#by && entry.by !== this.#by)
  }

  async #work(send, stored) {
    this.#working = true
    let most = MOST_AT_ONCE
    let pause = FIRST_PAUSE
    for (;;) {
      const mine = this.waiting.value.filter(entry => entry.by === this.#by).slice(0, most)
      if (mine.length === 0) break
      let results
      try {
        results = await send(mine)
        pause = FIRST_PAUSE
      } catch (error) {
        if (error instanceof Refused && HOPELESS.has(error.code)) {
          // One entry spoils the message: find it by sending them singly.
          if (mine.length > 1) { most = 1; continue }
          results = [{ id: mine[0].id, ok: false, error: { code: error.code, says: error.message } }]
        } else {
          await new Promise(resolve => { setTimeout(resolve, pause) })
          pause = Math.min(LONGEST_PAUSE, pause * 2)
          continue
        }
      }
      await this.#settle(mine, results, stored)
    }
    this.#working = false
  }

  async #settle(sent, results, stored) {
    const byId = new Map(sent.map(entry => [entry.id, entry]))
    const answered = results.filter(result => byId.has(result.id))
    const change = this.#begin()
    await Promise.all([...answered.map(async result => {
      if (result.ok) return change.store.delete(result.id)
      const kept = await change.store.get(result.id)
      return change.store.put({ ...kept, error: result.error })
    }), change.done])
    const gone = new Set(answered.map(result => result.id))
    batch(() => {
      stored(answered.filter(result => result.ok).map(({ id, seq }) => ({ seq, entry: byId.get(id) })))
      this.refused.value = [...this.refused.value, ...answered.filter(result => !result.ok)
        .map(({ id, error }) => ({ entry: byId.get(id), error }))]
      this.waiting.value = this.waiting.value.filter(entry => !gone.has(entry.id))
    })
    this.#others?.postMessage('changed')
  }

  async #read() {
    const all = (await this.#base.getAll(STORE)).sort((one, two) => one.added - two.added)
    batch(() => {
      this.waiting.value = all.filter(({ error }) => !error).map(({ entry }) => entry)
      this.refused.value = all.filter(({ error }) => error).map(({ entry, error }) => ({ entry, error }))
    })
  }

  #begin() {
    return this.#base.transaction(STORE, 'readwrite', { durability: 'strict' })
  }
}
