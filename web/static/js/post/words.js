import { exactTime, points } from '../lib/format.js'
import { say } from '../lib/words.js'

/** An observation in a few words, as the judge who made it knows it. */
export function inWords(entry, rules) {
  const { kind, what } = entry
  const rule = rules[what.rule]
  const name = rule ? short(rule) : what.rule
  if (kind === 'mark') {
    const answer = rule?.answers[what.outcome] ?? what.outcome
    return of(name, what.item, rule?.control === 'correct' ? say('not corrected') : answer)
  }
  if (kind === 'breach') return say('Breach: {rule}', { rule: what.whom ? `${name}, ${what.whom}` : name })
  if (kind === 'count') return say('{rule}: {count} counted', { rule: name, count: what.count })
  if (kind === 'moved') return of(name, what.item, momentName(what.moment))
  if (kind === 'measured') return of(name, what.item, rule?.control === 'hold' ? say('{n} s counted', { n: points(what.amount) }) : say('{n} cm', { n: points(what.amount) }))
  if (kind === 'value') return of(name, what.item, written(what, rule?.more.unit))
  if (kind === 'signature') return what.outcome === 'competent' ? say('signed as competent') : say('signed as not yet')
  if (kind === 'watch') return say('watch {n}: {time}', { n: what.watch, time: exactTime(what.elapsed) })
  if (kind === 'signal') return what.reason ? `${signalName(what.signal)}: ${what.reason}` : signalName(what.signal)
  return say('closed out')
}

/** What was said of a rule or of one item of it. */
function of(rule, item, answer) {
  return item ? say('{rule}, {item}: {answer}', { rule, item, answer }) : say('{rule}: {answer}', { rule, answer })
}

/** What stands on a sheet or a tool, with its unit. */
export function written({ value, legible = true }, unit = '') {
  if (!legible) return say('cannot be read')
  if (value === '') return say('nothing written')
  return unit && /^[-\d.,]+$/.test(value) ? `${value} ${unit}` : value
}

function momentName(moment) {
  return {
    begin: say('begun'),
    end: say('ended'),
    told: say('crew told'),
    corrected: say('corrected'),
    'judge did it': say('put right by the judge'),
    released: say('holds again'),
  }[moment]
}

function signalName(signal) {
  return {
    walkthrough: say('walkthrough begins'),
    'walkthrough over': say('walkthrough over'),
    start: say('start'),
    'false start': say('false start'),
    hold: say('hold'),
    resume: say('resume'),
    danger: say('danger stop'),
    stop: say('stop'),
  }[signal]
}

/** A rule's name where there is room for a few words. */
export function short(rule, longest = 42) {
  const text = rule.text.length > longest ? `${rule.text.slice(0, longest - 1).trimEnd()}…` : rule.text
  return rule.kind === 'callout' ? `“${text}”` : text
}
