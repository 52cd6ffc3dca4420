import { batch, effect, signal } from '../../vendor/signals.js'
import { ServerClock } from './clock.js'
import { entry } from './entries.js'
import { Link, Refused, Unanswered } from './link.js'
import { Outbox } from './outbox.js'
import { choice, choose } from './touch.js'
import { say } from './words.js'

/** How often the clock is set again, in milliseconds, and how many exchanges come at once. */
const SET_AGAIN = 20_000
const AT_ONCE = 4

/** Show another run; the device now stands in that run's bay, after a reload too. */
export function pickRun(session, run) {
  session.tell({ name: 'picked', run })
  choose('bay', session.state.peek().bay)
}

/**
 * One screen at work: its state, kept by a pure `apply`, and everything that feeds it – the link,
 * the clock, the outbox.
 */
export class Session {
  link
  clock = new ServerClock()
  state
  /** A sentence that the person must read, or ''. */
  trouble = signal('')
  /** What came of the last touch, where it was not what the touch was for; or ''. */
  notice = signal('')
  /** How far the clock may be out, in milliseconds; null while it is not known. */
  offBy = signal(null)
  #apply
  #outbox = null
  #following = new Map()
  #onPush

  constructor(apply, nothing, { onPush = () => {}, link = new Link() } = {}) {
    this.#apply = apply
    this.#onPush = onPush
    this.link = link
    this.state = signal(nothing)
  }

  /** Take a message into the state. */
  tell(message) {
    this.state.value = this.#apply(this.state.value, message)
  }

  /** Begin: open what this device has kept, then the link. */
  async begin() {
    try {
      this.#outbox = await Outbox.open()
    } catch (error) {
      this.trouble.value = say('This device can keep nothing ({why}). Use another one.', { why: error.message })
      return
    }
    effect(() => {
      const { waiting, refused } = this.#outbox
      this.tellQuietly({ name: 'kept', waiting: waiting.value, refused: refused.value })
    })
    effect(() => {
      const { chosen } = this.state.value
      if (chosen) queueMicrotask(() => this.follow(chosen))
    })
    this.link.open(() => this.#greet(), (name, data) => this.#hear(name, data))
    setInterval(() => this.#setClock(1), SET_AGAIN)
    // A device that slept, or whose clock was set, must not mark by an old offset.
    setInterval(() => {
      if (this.clock.strayed) this.#setClock(1)
      this.#showError()
    }, 1_000)
    document.addEventListener('visibilitychange', () => { if (!document.hidden) this.#setClock(1) })
  }

  /** Like `tell`, from within an effect that must not wait on the state it changes. */
  tellQuietly(message) {
    this.state.value = this.#apply(this.state.peek(), message)
  }

  /**
   * Put entries on the record of a run: durably here first, then to the server.
   *
   * `kinds` is a list of `[kind, what]`, `moment` the steady time of the touch. True once saved.
   */
  async record(run, kinds, { moment, at } = {}) {
    const me = this.state.peek().me
    const read = this.clock.read(moment)
    const when = at === undefined ? read : { ...read, at }
    const entries = kinds.map(([kind, what]) => entry(me, run, when, kind, what))
    try {
      await this.#outbox.add(entries)
      this.notice.value = ''
      return true
    } catch (error) {
      this.trouble.value = say('NOT SAVED: this device could not keep your last touch ({why}). Write it on paper.', { why: error.message })
      return false
    }
  }

  /** Ask the server; what it refuses, or that it is silent, becomes a sentence on the screen. */
  async ask(message, data) {
    try {
      return await this.link.ask(message, data)
    } catch (error) {
      if (error instanceof Unanswered) this.trouble.value = say('No answer from the server. Try again.')
      else if (error instanceof Refused) this.trouble.value = error.message
      else throw error
      return null
    }
  }

  /** Fetch what is new on a run's record, and hear of it from now on. */
  async follow(run) {
    const state = this.#following.get(run)
    if (state === 'asking') {
      this.#following.set(run, 'ask again')
      return
    }
    if (state) return
    this.#following.set(run, 'asking')
    const since = this.state.peek().records[run]?.reached ?? 0
    try {
      this.tell({ name: 'followed', ...await this.link.askUntilAnswered('follow', { run, since }) })
    } catch (error) {
      this.trouble.value = error.message
    }
    const again = this.#following.get(run) === 'ask again'
    this.#following.set(run, 'followed')
    if (again) this.refetch(run)
  }

  /** Fetch a run's news once more. */
  refetch(run) {
    if (this.#following.get(run) === 'followed') this.#following.delete(run)
    return this.follow(run)
  }

  async #greet() {
    try {
      const hello = await this.link.askUntilAnswered('hello')
      this.clock.pace = hello.pace ?? 1
      await this.#setClock(AT_ONCE, true)
      batch(() => {
        this.trouble.value = ''
        const bays = new Set(hello.runs.map(run => run.bay))
        const bay = choice('bay', null)
        // A choice from another event's hall means nothing here.
        if (bays.has(bay)) this.tell({ name: 'placed', bay })
        this.tell({ name: 'hello', ...hello })
      })
      this.#following.clear()
      const { chosen } = this.state.peek()
      if (chosen) this.follow(chosen)
      this.#outbox.start(hello.me.person, entries => this.#send(entries), stored => {
        if (stored.length) this.tell({ name: 'stored', entries: stored })
      })
      this.#onPush('hello', hello)
    } catch (error) {
      this.trouble.value = error.message
    }
  }

  async #send(entries) {
    return (await this.link.askUntilAnswered('observe', { entries })).results
  }

  #hear(name, data) {
    if (name === 'stage') this.tell({ name, ...data })
    if (name === 'reached' && this.#following.has(data.run)) this.refetch(data.run)
    this.#onPush(name, data)
  }

  async #setClock(times, restarted = false) {
    for (let n = 0; n < times; n += 1) {
      const sent = this.clock.steady()
      try {
        const { received, answered } = await this.link.ask('time', { sent })
        this.clock.learn(sent, received, answered, { restarted: restarted && n === 0 })
      } catch (error) {
        if (!(error instanceof Unanswered || error instanceof Refused)) throw error
      }
    }
    this.#showError()
  }

  #showError() {
    this.offBy.value = this.clock.known ? this.clock.read().offBy : null
  }
}
