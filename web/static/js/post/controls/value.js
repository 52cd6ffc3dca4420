import { html } from '../../../vendor/htm-preact.js'
import { useId, useState } from '../../../vendor/preact-hooks.js'
import { Icon } from '../../lib/icons.js'
import { KeyPad, Sheet } from '../../lib/widgets.js'
import { say } from '../../lib/words.js'
import { written } from '../words.js'
import { ItemChoice, itemName, Own, RuleText } from './parts.js'

/** More choices than this are shown on a window of their own. */
const FEW = 4
const LONGEST = 80
/** What meters show of what is beyond every range. */
const OPEN = 'OL'
const NUMBER_KEYS = ['1', '2', '3', 'delete', '4', '5', '6', '-', '7', '8', '9', OPEN, '.', '0', ',', 'clear']
const DATE_KEYS = ['1', '2', '3', 'delete', '4', '5', '6', '.', '7', '8', '9', '/', '-', '0', ' ', 'clear']
const NUMBER = /^-?(\d{1,12}([.,]\d{1,9})?|[.,]\d{1,9})$/

/** What stands on the crew's sheet, copied as it stands there. */
export const reading = {
  main: card => ({
    icon: 'change',
    label: card.items.length > 1 ? say('{answer}: {item}', { answer: say('Key it in'), item: itemName(card, card.next) }) : say('Key it in'),
  }),
  tap: (card, event, acts) => acts.open(card, card.next),
  Below: ({ card, acts }) => isFew(card) && html`<div class="outcomes in-card"><${Choices} card=${card} item="" acts=${acts} /></div>`,
  More({ card, acts, withGood, onDone }) {
    const item = card.next ?? card.items[0]
    return html`<div class="answers"><div class="outcomes">
      ${withGood && html`<${Own} icon="change" label=${say('Key it in')} onTap=${() => { onDone(); acts.open(card, item) }} />`}
      ${(card.left.length > 0 || card.items.length === 1) && html`<${NotThere} card=${card} item=${item} acts=${acts} onDone=${onDone} />`}
      ${!withGood && html`<button type="button" class="outcome plain" onClick=${onDone}>${say('Back')}</button>`}</div></div>`
  },
  Asked: ({ card, acts }) => card.left.map(item => html`<div key=${item} class="outcomes" role="group" aria-label=${item || card.rule.text}>
    ${item && html`<b class="of-item">${item}</b>`}
    ${isFew(card) ? html`<${Choices} card=${card} item=${item} acts=${acts} />`
      : html`<${Own} icon="change" label=${say('Key it in')} onTap=${() => acts.open(card, item)} />`}
    <${NotThere} card=${card} item=${item} acts=${acts} /></div>`),
  Said: ({ card }) => card.items.filter(item => card.words[item]).map(item => html`<span key=${item}><${Icon} name="change" />${item && `${itemName(card, item)}: `}${written(card.words[item].what, card.rule.more.unit)}</span>`),
  Pad: Copying,
}

/** What a tool is set to, try by try. */
export const setting = {
  main: card => ({
    icon: 'change',
    label: say('Read it: try {n} of {all}', { n: card.tries.length + 1, all: card.rule.more.tries }),
    extra: html`<span class="limits">${card.rule.more.wanted}</span>`,
  }),
  tap: (card, event, acts) => acts.open(card),
  Below: ({ card }) => card.tries.length > 0 && html`<p class="note is-said"><${Tries} card=${card} /></p>`,
  Asked: ({ card, acts }) => html`<p class="said"><${Tries} card=${card} /></p>
    <div class="outcomes"><${Own} icon="change" label=${setting.main(card).label} onTap=${() => acts.open(card)} /></div>`,
  Said: Tries,
  Pad: Trying,
}

/** What a setting came to, where it has no more tries. */
function Tries({ card }) {
  const { tries, rule } = card
  const last = tries.at(-1)
  return html`${tries.map(({ entry, isGood }) => html`<span key=${entry.id} class=${isGood ? 'is-good' : 'is-wrong'}>
      <${Icon} name=${isGood ? 'good' : 'wrong'} />${written(entry.what, rule.more.unit)}, ${isGood ? say('good') : say('outside')}</span>`)}
    ${last && !last.isGood && html`<b>${tries.length === rule.more.tries
      ? say('That was the last try: set it for the crew.') : say('The crew sets it again.')}</b>`}`
}

function isFew({ rule, items }) {
  return items.length === 1 && rule.more.choices.length > 0 && rule.more.choices.length <= FEW
}

function Choices({ card, item, acts, onDone = () => {} }) {
  return card.rule.more.choices.map(choice => html`<button type="button" key=${choice} class="outcome"
    onClick=${event => { onDone(); acts.value(card, choice, item, event) }}>${choice}</button>`)
}

function NotThere({ card, item, acts, onDone = () => {} }) {
  return html`<${Own} icon="missing" look="is-missing" label=${say('Nothing written')} onTap=${event => { onDone(); acts.value(card, '', item, event) }} />
    <${Own} icon="wrong" look="is-wrong" label=${say('Cannot be read')} onTap=${event => { onDone(); acts.value(card, '', item, event, false) }} />`
}

/** A window to copy from the sheet: keys, choices, or a line of text; it goes on to the next item. */
function Copying({ card, item: first, language, acts, onClose }) {
  const { more } = card.rule
  const [item, setItem] = useState(first ?? card.items[0])
  const [text, setText] = useState('')
  const [isTyped, setTyped] = useState(hasNoKeys(more))
  const id = useId()
  const isReady = isTyped ? text.trim() !== '' : more.date ? /\d/.test(text) : text === OPEN || NUMBER.test(text)
  const onDone = () => {
    const next = card.left.find(each => each !== item)
    setText('')
    if (next === undefined) onClose()
    else setItem(next)
  }
  const keep = event => { onDone(); acts.value(card, text.trim(), item, event) }
  return html`<${Sheet} title=${say('What stands on the sheet?')} onClose=${onClose}>
    <p class="asked"><${RuleText} rule=${card.rule} language=${language} /></p>
    <${ItemChoice} card=${card} item=${item} onItem=${each => { setItem(each); setText('') }} />
    ${!isTyped && more.choices.length > 0 && html`<div class="outcomes"><${Choices} card=${card} item=${item} acts=${acts} onDone=${onDone} /></div>`}
    ${!isTyped && more.choices.length === 0 && html`<${KeyPad} wide label=${item ? say('What stands at {item}', { item }) : say('What stands there')} text=${text} onText=${setText}
      keys=${more.date ? DATE_KEYS : NUMBER_KEYS} longest=${24} shows=${each => (each ? written({ value: each }, more.unit) : more.unit ? `– ${more.unit}` : '–')} />`}
    ${isTyped && more.written === 'signature' && html`<div class="outcomes"><${Own} icon="good" look="is-good" label=${say('There is a signature')}
      onTap=${event => { onDone(); acts.value(card, say('signed'), item, event) }} /></div>`}
    ${isTyped && more.written !== 'signature' && html`<label for=${id}>${say('As it stands there')}</label>
      <input id=${id} class="typed" maxlength=${LONGEST} autocomplete="off" autocapitalize="off" spellcheck=${false} value=${text} onInput=${event => setText(event.target.value)} />`}
    ${(isTyped ? more.written !== 'signature' : more.choices.length === 0) && html`<button type="button" class="big is-main" disabled=${!isReady} onClick=${keep}>
      ${isReady ? say('Record “{value}”', { value: isTyped ? text.trim() : written({ value: text }, more.unit) }) : isTyped ? say('Write what stands there') : say('Key what stands there')}</button>`}
    <div class="outcomes"><${NotThere} card=${card} item=${item} acts=${acts} onDone=${onDone} />
      ${!isTyped && html`<${Own} icon="change" label=${say('Something else stands there')} onTap=${() => { setTyped(true); setText('') }} />`}</div>
  <//>`
}

/** Whether it is written in a form that no keys are made for. */
function hasNoKeys({ unit, choices, date }) {
  return !unit && !date && choices.length === 0
}

/** A window to key one try. */
function Trying({ card, language, acts, onClose }) {
  const { rule } = card
  const [text, setText] = useState('')
  const isReady = NUMBER.test(text)
  return html`<${Sheet} title=${say('What is it set to?')} onClose=${onClose}>
    <p class="asked"><${RuleText} rule=${rule} language=${language} /></p>
    <p>${say('Wanted: {wanted}, within {n} tries', { wanted: rule.more.wanted, n: rule.more.tries })}</p>
    <${KeyPad} label=${say('What it is set to')} text=${text} onText=${setText}
      keys=${['1', '2', '3', '4', '5', '6', '7', '8', '9', '.', '0', 'delete', '-', 'clear']} longest=${13}
      shows=${each => `${each || '–'} ${rule.more.unit}`} />
    <button type="button" class="big is-main" disabled=${!isReady} onClick=${event => { onClose(); acts.value(card, text, '', event) }}>
      ${isReady ? say('Try {n} reads {value}', { n: card.tries.length + 1, value: `${text} ${rule.more.unit}` }) : say('Key a number')}</button>
  <//>`
}
