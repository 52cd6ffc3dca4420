/** How fast an unwatched clock may stray: PHI of RFC 5905, 15 µs a second. */
const DRIFT = 15e-6
/** RFC 5905 keeps the last eight exchanges and trusts the quickest. */
const KEPT = 8
/** The widest error that an entry can carry: one day. */
const WIDEST = 86_400_000
/** Two clocks read one after the other, in whole milliseconds, differ by less than this. */
const NOISE = 50
/** From here on the device's clock was set, or the device slept: older exchanges say nothing. */
const SET = 1_000

/** Offset and delay of one exchange of four timestamps (RFC 5905, section 8), in milliseconds. */
export function exchange(sent, received, answered, came) {
  return {
    offset: ((received - sent) + (answered - came)) / 2,
    delay: (came - sent) - (answered - received),
  }
}

/**
 * The server's clock as this device knows it, `pace` times faster than the device's in a demo.
 *
 * It counts on the steady clock, so a device clock that is set back an hour moves no mark. A
 * device that slept, or whose clock was set, shows as a gap between the two clocks; which of the
 * two it was cannot be known here, so the gap counts as error until the next exchange.
 */
export class ServerClock {
  pace = 1
  #samples = []
  #steady
  #wall

  constructor(steady = () => performance.now(), wall = () => Date.now()) {
    this.#steady = steady
    this.#wall = wall
  }

  /** The device's steady clock, in the server's milliseconds. */
  steady() {
    return this.#steady() * this.pace
  }

  /** Take in one exchange; `sent` and `came` are from `steady`. A restarted server has a new clock. */
  learn(sent, received, answered, { came = this.steady(), restarted = false } = {}) {
    const { offset, delay } = exchange(sent, received, answered, came)
    const gap = this.#gap()
    const kept = restarted ? [] : this.#samples.filter(each => Math.abs(each.gap - gap) < SET)
    this.#samples = [...kept, { offset, half: Math.max(0, delay) / 2, came, gap }].slice(-KEPT)
  }

  /** Whether there has been an exchange at all. */
  get known() {
    return this.#samples.length > 0
  }

  /** How far the device's two clocks have parted since the last exchange, in milliseconds. */
  get strayed() {
    const parted = this.known ? Math.abs(this.#gap() - this.#samples.at(-1).gap) : 0
    return parted > NOISE ? parted * this.pace : 0
  }

  /** A moment of the device's steady clock (an event's, or now) on the server's clock. */
  read(moment = this.#steady()) {
    const own = moment * this.pace
    const best = this.#samples
      .map(({ offset, half, came }) => ({ offset, error: half + DRIFT * Math.abs(own - came) }))
      .reduce((one, two) => (two.error < one.error ? two : one), { offset: 0, error: WIDEST })
    return {
      at: Math.round(own + best.offset),
      offBy: Math.min(WIDEST, Math.ceil(best.error + this.strayed)),
    }
  }

  #gap() {
    return this.#wall() - this.#steady()
  }
}
