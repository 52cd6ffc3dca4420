import { io } from '../../vendor/socket.io.js'
import { signal } from '../../vendor/signals.js'

/** The first wait for an answer, in milliseconds; each further one is twice as long. */
const FIRST_WAIT = 4_000
const LONGEST_WAIT = 60_000

/** The server said no, and why: `code` for programs, the message for people. */
export class Refused extends Error {
  constructor({ code, says }) {
    super(says)
    this.code = code
  }
}

/** No answer came; whether the message arrived is not known. */
export class Unanswered extends Error {}

/**
 * The connection to the server.
 *
 * `state` is a signal: 'connecting', 'open', 'lost' or 'refused'. Only answers are trusted, never
 * the browser's own idea of being online. Waiting grows, because an answer that is dropped for
 * being late makes the same message go out for ever.
 */
export class Link {
  state = signal('connecting')
  #socket
  #wait = FIRST_WAIT

  constructor(socket = io({ transports: ['websocket'], autoConnect: false, reconnectionDelayMax: 5_000 })) {
    this.#socket = socket
    socket.on('connect', () => { this.state.value = 'open' })
    socket.on('disconnect', reason => {
      this.state.value = 'lost'
      // The library takes a server's own goodbye as final; a restart of the server is not.
      if (reason === 'io server disconnect') setTimeout(() => socket.connect(), 1_000)
    })
    socket.on('connect_error', () => { this.state.value = socket.active ? 'lost' : 'refused' })
  }

  /** Connect; `greet` runs after each connection, pushes go to `hear(name, data)`. */
  open(greet, hear) {
    this.#socket.on('connect', greet)
    this.#socket.onAny(hear)
    this.#socket.connect()
  }

  /** Ask once. Throws `Refused` or `Unanswered`. */
  async ask(message, data = {}) {
    let answer
    try {
      if (!this.#socket.connected) throw new Error('not connected')
      answer = await this.#socket.timeout(this.#wait).emitWithAck(message, data)
    } catch (error) {
      this.#wait = Math.min(LONGEST_WAIT, this.#wait * 2)
      throw new Unanswered(error.message)
    }
    this.#wait = FIRST_WAIT
    if (!answer.ok) throw new Refused(answer.error)
    return answer.reply
  }

  /** Ask until there is an answer, of any kind; for what may be asked twice without harm. */
  async askUntilAnswered(message, data = {}) {
    for (;;) {
      await this.opened()
      try {
        return await this.ask(message, data)
      } catch (error) {
        if (!(error instanceof Unanswered)) throw error
      }
    }
  }

  /** Resolves once the connection is open. */
  opened() {
    return new Promise(resolve => {
      let stop = null
      let done = false
      stop = this.state.subscribe(state => {
        if (state !== 'open' || done) return
        done = true
        resolve()
        queueMicrotask(() => stop())
      })
    })
  }
}
