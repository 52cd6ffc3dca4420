import { html } from '../../../vendor/htm-preact.js'
import { useEffect, useState } from '../../../vendor/preact-hooks.js'
import { seconds, thousandths, time } from '../../lib/format.js'
import { Icon } from '../../lib/icons.js'
import { KeyPad, Sheet } from '../../lib/widgets.js'
import { say } from '../../lib/words.js'
import { Answers, AskedItems, itemName, Own, RuleText, SaidOutcomes } from './parts.js'

/** Something that lasts: a touch when it begins and one when it ends, or the seconds keyed in. */
export const hold = {
  main(card, acts) {
    const of = card.items.length > 1 ? ` ${itemName(card, card.next)}` : ''
    if (!card.isGoing) return { icon: 'start', label: `${say('Begins now')}${of}`, extra: lasts(card.rule) }
    return {
      icon: 'stop',
      label: `${say('Ends now')}${of}`,
      extra: html`<${Lasting} since=${card.going[card.next].at} now=${acts.now} rule=${card.rule} />`,
    }
  },
  tap: (card, event, acts) => acts.moved(card, card.isGoing ? 'end' : 'begin', card.next, event),
  Below: Items,
  More: ({ card, acts, withGood, onDone }) => html`<${Answers} card=${card} acts=${acts} withGood=${withGood} onDone=${onDone}
    more=${item => html`<${Own} icon="count" label=${say('Key the seconds')} onTap=${() => { onDone(); acts.open(card, item) }} />`} />`,
  Asked: ({ card, acts }) => html`<${AskedItems} card=${card} acts=${acts}
    more=${item => html`<${Own} icon="count" label=${say('Key the seconds')} onTap=${() => acts.open(card, item)} />`} />`,
  Said({ card }) {
    const answered = card.items.filter(item => card.words[item]?.kind === 'mark')
    const long = card.items.filter(item => card.lasted[item] !== undefined)
    return html`<${SaidOutcomes} card=${card} said=${answered} />
      ${long.map(item => html`<span key=${item}><${Icon} name="count" />${item && `${itemName(card, item)}: `}${seconds(card.lasted[item])}</span>`)}`
  },
  Pad: Seconds,
}

function lasts({ more }) {
  const least = more.at_least ? say('at least {time}', { time: seconds(more.at_least) }) : ''
  const most = more.at_most === null ? '' : say('at most {time}', { time: seconds(more.at_most) })
  return html`<span class="limits">${[least, most].filter(Boolean).join(', ')}</span>`
}

/** How long it has lasted, ten times a second; a judge ends it by what is seen, not by this. */
function Lasting({ since, now, rule }) {
  const [, again] = useState(0)
  useEffect(() => {
    const timer = setInterval(() => again(n => n + 1), 100)
    return () => clearInterval(timer)
  }, [])
  return html`<span class="lasting"><b role="timer" aria-label=${say('Lasts')}>${time(Math.max(0, now() - since), 1)}</b> ${lasts(rule)}</span>`
}

function Items({ card, acts }) {
  if (card.items.length === 1) return null
  return html`<div class="items" role="group" aria-label=${say('Items of {rule}', { rule: card.rule.id })}>
    ${card.items.map(item => {
      const isGoing = Boolean(card.going[item])
      const isSaid = Boolean(card.words[item])
      return html`<button type="button" key=${item} class="item is-${isGoing ? 'going' : isSaid ? 'said' : 'open'}"
          onClick=${event => acts.moved(card, isGoing ? 'end' : 'begin', item, event)}>
        <${Icon} name=${isGoing ? 'stop' : isSaid ? 'saved' : 'start'} /><span>${item}</span>
        <span class="unseen-words">${isGoing ? say('Ends now') : say('Begins now')}</span></button>`
    })}</div>`
}

/** The seconds a judge counted. */
function Seconds({ card, item, language, acts, onClose }) {
  const [text, setText] = useState('')
  const ms = thousandths(text)
  return html`<${Sheet} title=${say('How many seconds?')} onClose=${onClose}>
    <p class="asked">${item && html`<b>${itemName(card, item)}</b> `}<${RuleText} rule=${card.rule} language=${language} /></p>
    <${KeyPad} label=${say('Seconds')} text=${text} onText=${setText} keys=${['1', '2', '3', '4', '5', '6', '7', '8', '9', '.', '0', 'delete']}
      longest=${7} shows=${each => `${each || '–'} s`} />
    <button type="button" class="big is-main" disabled=${ms === null} onClick=${event => { onClose(); acts.measured(card, ms, item, event) }}>
      ${ms === null ? say('Key a number') : say('It lasted {time}', { time: seconds(ms) })}</button>
  <//>`
}
