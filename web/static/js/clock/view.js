import { html } from '../../vendor/htm-preact.js'
import { useEffect, useState } from '../../vendor/preact-hooks.js'
import { exactTime, keyed, time } from '../lib/format.js'
import { Icon } from '../lib/icons.js'
import { pickRun } from '../lib/session.js'
import { inTurn, rulesById } from '../lib/state.js'
import { buzz, momentOf, stayAwake } from '../lib/touch.js'
import {
  ClockError, DangerBand, DangerStop, RunClock, RunList, Saving, Sheet, stageName, TimePad, Trouble, useHand,
} from '../lib/widgets.js'
import { say } from '../lib/words.js'
import { Breaches, Latches } from '../post/controls/breach.js'
import { Pad } from '../post/controls/pad.js'
import { Device, Record } from '../post/sheets.js'
import { actsOf, Marking } from '../post/view.js'
import { inWords } from '../post/words.js'
import { derive } from './state.js'

/** Why a clock is held; the crew reads it on its sheet. */
const reasons = () => [
  say('equipment of the organiser'), say('a judge in the way'), say('somebody is hurt'),
  say('weather'), say('something else'),
]

/** The timekeeper's tablet. */
export function Clock({ session }) {
  const state = session.state.value
  const [sheet, setSheet] = useState(null)
  const [awake, setAwake] = useState(true)
  const [hand, setHand] = useHand()
  useEffect(() => { stayAwake().then(setAwake) }, [])
  if (!state.me) return html`<main class="blank"><h1>${say('Clock')}</h1><p>${say('Connecting…')}</p><${Trouble} session=${session} /></main>`

  const derived = derive(state)
  const rules = rulesById(state)
  const close = () => setSheet(null)
  const acts = actsOf(session, derived, setSheet)
  const record = async (kinds, when) => { if (await session.record(derived.run.id, kinds, when)) buzz(60) }
  const signal = (name, event) => record([['signal', { signal: name, reason: '' }]], { moment: momentOf(event) })
  const explain = (entry, reason) => record([
    ['signal', { signal: 'hold', reason }],
    ['withdrawal', { entry: entry.id, reason: say('reason given') }],
  ], { at: entry.at })
  const hasRules = derived.all.some(card => card.rule.control !== 'breach')
  return html`<div class="screen clock is-${derived.stage}">
    <header class="head">
      <h1 class="unseen-words">${say('Clock')}</h1>
      <button type="button" class="whose" onClick=${() => setSheet('runs')}>
        <span class="team">${derived.run?.team_name ?? say('No run')}</span>
      <span class="unseen-words">${say('Choose another run')}</span>
        ${derived.run && html`<span class="where"><b>${derived.run.bay}</b> · ${say('run {turn}', { turn: derived.run.turn })}</span>`}
      </button>
      <div class="head-clock"><span class="stage is-${derived.stage}">${stageName(derived.stage)}</span></div>
      <button type="button" class="device" onClick=${() => setSheet('device')} aria-label=${say('This tablet')}><${Icon} name="tablet" /></button>
      <div class="head-line"><${Saving} session=${session} saved=${derived.saved} waiting=${derived.waiting} foreign=${derived.foreign} refused=${derived.refused} />
        <${ClockError} session=${session} /></div>
    </header>
    <${Trouble} session=${session} />
    <${DangerBand} clock=${derived.clock} />
    ${derived.run ? html`<main class="timing">
      <${Face} session=${session} derived=${derived} limits=${state.clock} />
      <${Signals} derived=${derived} ends=${state.clock.ends} language=${state.event.language} onSignal=${signal} />
      ${derived.toExplain && html`<div class="who-strip is-inline" role="group" aria-label=${say('Why is the clock held?')}>
        <span>${say('Why is the clock held?')}</span>
        ${reasons().map(reason => html`<button type="button" key=${reason} onClick=${() => explain(derived.toExplain, reason)}>${reason}</button>`)}</div>`}
      ${derived.stage === 'stopped' && html`<${Watches} derived=${derived} clock=${state.clock} official=${state.cards[derived.run.id]?.official}
        onReading=${(watch, elapsed, event) => record([['watch', { watch, elapsed }]], { moment: momentOf(event) })} />`}
      ${hasRules && html`<${Marking} as="div" derived=${derived} language=${state.event.language} acts=${acts} />`}
    </main>` : html`<main class="blank"><h2>${say('No runs are planned for this event.')}</h2></main>`}
    ${derived.run && html`<${Latches} latches=${derived.latches} acts=${acts} />`}
    ${derived.run && html`<footer class="bar">
      <button type="button" class="undo" disabled=${derived.last.length === 0} onClick=${() => record(
        derived.last.map(entry => ['withdrawal', { entry: entry.id, reason: say('undone at once') }]))}>
        <${Icon} name="undo" /><span><b>${say('Undo')}</b><small>${derived.last.length ? inWords(derived.last[0], rules) : say('nothing yet')}</small></span></button>
      <button type="button" class="record-button" onClick=${() => setSheet('record')}><${Icon} name="list" /><span>${say('Marks')}</span></button>
      <${DangerStop} onDanger=${acts.danger} />
      ${derived.breaches.length > 0 && html`<button type="button" class="breach" onClick=${() => setSheet('breach')}><${Icon} name="breach" /><span>${say('Breach')}</span></button>`}
    </footer>`}
    ${sheet === 'runs' && html`<${Sheet} wide title=${say('Which run?')} onClose=${close}>
      <${RunList} runs=${inTurn(state)} chosen=${state.chosen} onPick=${run => { pickRun(session, run); close() }} /><//>`}
    ${sheet === 'record' && html`<${Record} state=${state} derived=${derived} rules=${rules} onWithdraw=${acts.withdraw} onClose=${close} withSignals />`}
    ${sheet === 'breach' && html`<${Breaches} breaches=${derived.breaches} language=${state.event.language} onBreach=${acts.breach} onClose=${close} />`}
    ${sheet === 'device' && html`<${Device} session=${session} derived=${derived} hand=${hand} setHand=${setHand} awake=${awake} onClose=${close} />`}
    <${Pad} sheet=${sheet} cards=${derived.all} language=${state.event.language} acts=${acts} onClose=${close} />
  </div>`
}

/** The clock's face: the running time, the limit, and how long it was held. */
function Face({ session, derived, limits }) {
  const { clock, stage } = derived
  const inWalk = stage === 'walkthrough'
  const limit = inWalk ? limits.walkthrough : limits.limit
  const held = clock.holds.reduce((sum, hold) => sum + ((hold.end ?? hold.begin) - hold.begin), 0)
  return html`<section class="face" aria-label=${say('Clock')}>
    <${RunClock} session=${session} clock=${clock} decimals=${stage === 'stopped' ? 2 : 1} />
    <p>${limit ? html`<span>${inWalk ? say('walkthrough limit {time}', { time: time(limit, 0) }) : say('limit {time}', { time: time(limit, 0) })}</span>` : ''}
      ${held > 0 && html`<span>${say('held {time}', { time: time(held, 1) })}</span>`}
      ${clock.falseStarts > 0 && html`<span>${say('false starts: {n}', { n: clock.falseStarts })}</span>`}</p>
  </section>`
}

/** The signals, each always in its own place; what makes no sense now is switched off. */
function Signals({ derived, ends, language, onSignal }) {
  const { stage } = derived
  const isOn = stage === 'running' || stage === 'held'
  const button = (name, label, icon, ready, extra) => html`<button type="button" class="signal is-${icon}"
    disabled=${!ready} onClick=${event => onSignal(name, event)}><${Icon} name=${icon} /><span>${label}</span>${extra}</button>`
  return html`<section class="signals" aria-label=${say('Signals')}>
    ${button('start', say('Start'), 'start', stage === 'waiting' || stage === 'walkthrough')}
    ${stage === 'held'
      ? button('resume', say('Resume'), 'start', true)
      : button('hold', say('Hold'), 'hold', isOn)}
    ${button('stop', say('Stop'), 'stop', isOn, ends && html`<small>${say('on')} <q lang=${language}>${ends}</q></small>`)}
    ${stage === 'walkthrough'
      ? button('walkthrough over', say('Walkthrough over'), 'walk', true)
      : button('walkthrough', say('Walkthrough begins'), 'walk', stage === 'waiting' && !derived.clock.walkthrough)}
    ${button('false start', say('False start'), 'undo', isOn)}
  </section>`
}

/** What the watches show, keyed in after the stop. */
function Watches({ derived, clock, official, onReading }) {
  const { readings, watches } = derived
  const left = watches.find(watch => !readings[watch]) ?? null
  const [picked, setPicked] = useState(null)
  const [digits, setDigits] = useState('')
  const watch = picked ?? left
  const decimals = clock.step % 10 === 0 ? 2 : 3
  const elapsed = keyed(digits || '0', decimals)
  return html`<section class="watches" aria-label=${say('Watches')}>
    <h2>${say('What do the watches show?')}</h2>
    <p>${say('From start to stop, holds included: {time} by the signals.', { time: time(derived.clock.stop - derived.clock.start, decimals) })}
      ${official && html` <strong>${say('Official time {time}', { time: exactTime(official.time, clock.step) })}${official.way && `, ${official.way}`}</strong>`}</p>
    <div class="watch-list">${watches.map(n => html`<button type="button" key=${n} aria-pressed=${n === watch ? 'true' : 'false'} onClick=${() => { setPicked(n); setDigits('') }}>
      <span>${say('Watch {n}', { n })}</span><b>${readings[n] ? time(readings[n].what.elapsed, decimals) : '–'}</b></button>`)}</div>
    ${watch !== null && html`<div class="watch-pad"><${TimePad} label=${say('Time of watch {n}', { n: watch })} digits=${digits} onDigits=${setDigits} decimals=${decimals} />
      <button type="button" class="big is-main" disabled=${elapsed === 0} onClick=${event => { onReading(watch, elapsed, event); setPicked(null); setDigits('') }}>
        ${elapsed === 0 ? say('Key the time of watch {n}', { n: watch }) : say('Watch {n} shows {time}', { n: watch, time: time(elapsed, decimals) })}</button></div>`}
  </section>`
}
