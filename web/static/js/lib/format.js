/** A time as people write it: `35:07.4`, `1:02:53.2`, `-0:05.0`; finer digits are cut, not rounded. */
export function time(ms, decimals = 1) {
  const whole = Math.abs(Math.trunc(ms))
  const hours = Math.floor(whole / 3_600_000)
  const minutes = Math.floor(whole / 60_000) % 60
  const seconds = String(Math.floor(whole / 1_000) % 60).padStart(2, '0')
  const tail = decimals ? `.${String(whole % 1_000).padStart(3, '0').slice(0, decimals)}` : ''
  const head = hours ? `${hours}:${String(minutes).padStart(2, '0')}` : `${minutes}`
  return `${ms < 0 ? '−' : ''}${head}:${seconds}${tail}`
}

/** How many decimals of a second these times need, so that a column of them lines up. */
export function decimalsOf(...times) {
  return [0, 1, 2].find(n => times.every(ms => Math.trunc(ms ?? 0) % 10 ** (3 - n) === 0)) ?? 3
}

/** A time with as many decimals as it needs, and no fewer than a multiple of `step` has. */
export function exactTime(ms, step = 1_000) {
  return time(ms, decimalsOf(ms, step))
}

/** A cost in plain seconds: `10 s`, `2.5 s`, `−4 s`. */
export function seconds(ms) {
  return `${ms < 0 ? '−' : ''}${Math.abs(ms) / 1_000} s`
}

/** A cost in the result's unit: `2.5 s`, or plain points. */
export function cost(thousandths, unit) {
  return unit === 'points' ? points(thousandths) : seconds(thousandths)
}

/** Points without needless zeros: `12.5`, `−4`. */
export function points(thousandths) {
  return `${thousandths < 0 ? '−' : ''}${Math.abs(thousandths) / 1_000}`
}

/** The time of day, as this device's language writes it. */
export function ofDay(at) {
  return new Intl.DateTimeFormat(undefined, { timeStyle: 'medium' }).format(at)
}

/** Milliseconds of what was keyed, right to left: `310742` with two decimals is 31:07.42. */
export function keyed(digits, decimals) {
  const all = digits.padStart(decimals + 4, '0')
  const fraction = Number(all.slice(-decimals)) * 10 ** (3 - decimals)
  const rest = all.slice(0, -decimals)
  return Number(rest.slice(0, -2)) * 60_000 + Number(rest.slice(-2)) * 1_000 + fraction
}

/** Milliseconds of a typed `m:ss.cc` or plain seconds; null where it is neither. */
export function typedTime(text) {
  const found = /^([-−]?)(?:(\d{1,4}):([0-5]\d)|(\d{1,6}))(?:[.,](\d{1,3}))?$/.exec(text.trim())
  if (!found) return null
  const [, sign, minutes, seconds, alone, fraction = ''] = found
  const whole = alone === undefined ? Number(minutes) * 60 + Number(seconds) : Number(alone)
  const ms = whole * 1_000 + Number(fraction.padEnd(3, '0'))
  return sign ? -ms : ms
}

/** Thousandths of a typed amount with at most three decimals; null where it is none. */
export function thousandths(text) {
  const found = /^([-−]?)(\d{1,6})(?:[.,](\d{1,3}))?$/.exec(text.trim())
  if (!found) return null
  const amount = Number(found[2]) * 1_000 + Number((found[3] ?? '').padEnd(3, '0'))
  return found[1] ? -amount : amount
}
