import { exactTime } from '../lib/format.js'
import { say } from '../lib/words.js'

/** An observation in a few words, as the judge who made it knows it. */
export function inWords(entry, rules) {
  const { kind, what } = entry
  const rule = rules[what.rule]
  const name = rule ? short(rule) : what.rule
  if (kind === 'mark') {
    const answer = rule?.answers[what.outcome] ?? what.outcome
    return what.item ? say('{rule}, {item}: {answer}', { rule: name, item: what.item, answer })
      : say('{rule}: {answer}', { rule: name, answer })
  }
  if (kind === 'breach') return say('Breach: {rule}', { rule: what.whom ? `${name}, ${what.whom}` : name })
  if (kind === 'count') return say('{rule}: {count} counted', { rule: name, count: what.count })
  if (kind === 'watch') return say('watch {n}: {time}', { n: what.watch, time: exactTime(what.elapsed) })
  if (kind === 'signal') return what.reason ? `${signalName(what.signal)}: ${what.reason}` : signalName(what.signal)
  return say('closed out')
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

/** What to call an item: its name, or its number among so many. */
export function itemName(card, item) {
  return isNumbered(card) ? say('{n} of {all}', { n: item, all: card.items.length }) : item
}

/** Whether the items have no names but numbers. */
export function isNumbered(card) {
  return card.items.every((item, n) => item === String(n + 1))
}
