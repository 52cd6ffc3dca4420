import { html } from '../../vendor/htm-preact.js'
import { useEffect, useLayoutEffect, useState } from '../../vendor/preact-hooks.js'
import { Icon } from '../lib/icons.js'
import { pickRun } from '../lib/session.js'
import { inTurn, rulesById } from '../lib/state.js'
import { buzz, isTooSoon, momentOf, stayAwake, targetsMoved } from '../lib/touch.js'
import {
  ClockError, DangerBand, DangerStop, RunClock, RunList, Saving, Sheet, stageName, Trouble, useHand,
} from '../lib/widgets.js'
import { say } from '../lib/words.js'
import { Card, Row } from './cards.js'
import { Closing } from './closing.js'
import { Breaches, Latches } from './controls/breach.js'
import { Pad } from './controls/pad.js'
import { Device, Record } from './sheets.js'
import { Signing } from './signing.js'
import { derive } from './state.js'
import { inWords } from './words.js'

/** The judge's tablet. */
export function Post({ session }) {
  const state = session.state.value
  const [sheet, setSheet] = useState(null)
  const [awake, setAwake] = useState(true)
  const [hand, setHand] = useHand()
  useEffect(() => { stayAwake().then(setAwake) }, [])
  if (!state.me) return html`<main class="blank"><h1>${say('Post')}</h1><p>${say('Connecting…')}</p><${Trouble} session=${session} /></main>`

  const derived = derive(state)
  const acts = actsOf(session, derived, setSheet)
  const close = () => setSheet(null)
  return html`<div class="screen post ${derived.stage === 'stopped' ? 'is-closing' : ''}">
    <${Head} session=${session} derived=${derived} title=${state.posts[state.me.post]?.title} onRuns=${() => setSheet('runs')} onDevice=${() => setSheet('device')} />
    <${Trouble} session=${session} />
    <${DangerBand} clock=${derived.clock} />
    ${derived.elsewhere && html`<section aria-label=${say('Another run')}><button type="button" class="elsewhere" onClick=${() => pickRun(session, derived.elsewhere.id)}>
      <${Icon} name="next" />${say('{team} has started in this bay. Go there.', { team: derived.elsewhere.team_name })}</button></section>`}
    ${derived.run
      ? html`<${Marking} derived=${derived} language=${state.event.language} acts=${acts} assessed=${state.cards[derived.run.id]?.assessed} />`
      : html`<main class="blank"><h2>${say('No runs are planned for this event.')}</h2></main>`}
    ${derived.run && html`<${Latches} latches=${derived.latches} acts=${acts} /><${WhoStrip} derived=${derived} acts=${acts} /><${Bar} derived=${derived} rules=${rulesById(state)} acts=${acts} onSheet=${setSheet} />`}
    ${sheet === 'runs' && html`<${Sheet} wide title=${say('Which run?')} onClose=${close}>
      <${RunList} runs=${inTurn(state)} chosen=${state.chosen} onPick=${run => { pickRun(session, run); close() }} /><//>`}
    ${sheet === 'breach' && html`<${Breaches} breaches=${derived.breaches} language=${state.event.language} onBreach=${acts.breach} onClose=${close} />`}
    ${sheet === 'record' && html`<${Record} state=${state} derived=${derived} rules=${rulesById(state)} onWithdraw=${acts.withdraw} onClose=${close} />`}
    ${sheet === 'device' && html`<${Device} session=${session} derived=${derived} hand=${hand} setHand=${setHand} awake=${awake} onClose=${close} />`}
    <${Pad} sheet=${sheet} cards=${derived.all} language=${state.event.language} acts=${acts} onClose=${close} />
  </div>`
}

/** What a judge can put on the record. */
export function actsOf(session, derived, setSheet) {
  const run = derived.run?.id
  const isTimed = derived.stage !== 'stopped'
  const record = async (kinds, when) => { if (await session.record(run, kinds, when)) buzz() }
  /** Put what a touch says on the record, unless it was meant for what stood there before. */
  const touch = (kind, what, event) => {
    const moment = momentOf(event)
    if (isTooSoon(moment)) {
      session.notice.value = say('Too soon after the list moved: not marked.')
      buzz([20, 60, 20])
      return
    }
    record([[kind, what]], { moment })
  }
  return {
    now: () => session.clock.read().at,
    open: (card, item = card.next) => setSheet({ pad: card.rule.id, item }),
    answer: (card, item, outcome, event) => touch('mark', { rule: card.rule.id, outcome, item, timed: isTimed }, event),
    moved: (card, moment, item, event) => touch('moved', { rule: card.rule.id, moment, item }, event),
    measured: (card, amount, item, event) => record([['measured', { rule: card.rule.id, amount, item }]], { moment: momentOf(event) }),
    value: (card, value, item, event, legible = true) => record([['value', { rule: card.rule.id, value, item, legible }]], { moment: momentOf(event) }),
    allDone(cards, event) {
      record(cards.flatMap(card => card.left.map(item =>
        ['mark', { rule: card.rule.id, outcome: 'good', item, timed: false }])), { moment: momentOf(event) })
    },
    breach(rule, moment) {
      setSheet(null)
      record([['breach', { rule: rule.id, whom: '' }]], { moment })
    },
    /** Who it was, added to a breach: the same breach at the same moment, and the first withdrawn. */
    name(entry, whom) {
      record([
        ['breach', { rule: entry.what.rule, whom }],
        ['withdrawal', { entry: entry.id, reason: say('named who it was') }],
      ], { at: entry.at })
    },
    count(card, count, event) {
      record([['count', { rule: card.rule.id, count }]], { moment: momentOf(event) })
    },
    closeOut(event) {
      record([['close-out', {}]], event ? { moment: momentOf(event) } : {})
    },
    withdraw(entry, reason) {
      record([['withdrawal', { entry: entry.id, reason }]])
    },
    undo() {
      record(derived.last.map(entry => ['withdrawal', { entry: entry.id, reason: say('undone at once') }]))
    },
    leave() {
      session.tell({ name: 'left', run })
    },
    sign(outcome) {
      record([['signature', { outcome, remark: '' }]])
    },
    danger(moment) {
      record([['signal', { signal: 'danger', reason: '' }]], { moment })
    },
  }
}

function Head({ session, derived, title, onRuns, onDevice }) {
  const { run, clock, stage } = derived
  return html`<header class="head">
    <h1 class="unseen-words">${say('Post: {title}', { title: title ?? '' })}</h1>
    <button type="button" class="whose" onClick=${onRuns}>
      <span class="team">${run?.team_name ?? say('No run')}</span>
      <span class="unseen-words">${say('Choose another run')}</span>
      ${run && html`<span class="where"><b>${run.bay}</b> · ${title}${derived.drawn.map(({ name, value }) => html`<span key=${name}> · ${name}: <b>${value ?? say('not drawn yet')}</b></span>`)}</span>`}
    </button>
    <div class="head-clock"><${RunClock} session=${session} clock=${clock} />
      <span class="stage is-${stage}">${stageName(stage)}</span></div>
    <button type="button" class="device" onClick=${onDevice} aria-label=${say('This tablet')}><${Icon} name="tablet" /></button>
    <div class="head-line"><${Saving} session=${session} saved=${derived.saved} waiting=${derived.waiting} foreign=${derived.foreign} refused=${derived.refused} />
      <${ClockError} session=${session} /></div>
  </header>`
}

/** The middle of the screen: what is next, and everything else; after the stop, the close-out. */
export function Marking({ derived, language, acts, assessed, as = 'main' }) {
  const [opened, setOpened] = useState(null)
  const [isOver, setOver] = useState(null)
  const order = derived.next.map(card => card.rule.id).join(' ')
  useLayoutEffect(targetsMoved, [order])
  // A run without a clock is over when this judge says so.
  const isClosing = derived.stage === 'stopped' || !derived.isTimed && (derived.closed || isOver === derived.run?.id)
  if (isClosing) {
    return html`<${as} class="marking">${derived.closed
      ? html`<div class="blank"><h2><${Icon} name="post" /> ${say('Closed out')}</h2>${assessed
        ? html`<${Signing} assessed=${assessed} onSign=${acts.sign} /><button type="button" class="big" onClick=${acts.leave}><${Icon} name="next" />${say('To the next run')}</button>` : html`<p>${say('Thank you. The next run comes up by itself.')}</p>`}</div>`
      : html`<${Closing} open=${derived.open} language=${language} acts=${acts} />`}
    <//>`
  }
  const row = (card, isPassed) => html`<${Row} key=${card.rule.id} card=${card} language=${language} acts=${acts} isPassed=${isPassed}
    isOpen=${opened === card.rule.id} onOpen=${setOpened} />`
  return html`<${as} class="marking">
    <section class="next" aria-label=${say('Next')}>
      ${derived.next.map(card => html`<${Card} key=${card.rule.id} card=${card} language=${language} acts=${acts}
        isOpen=${opened === card.rule.id} onOpen=${setOpened} />`)}
      ${derived.next.length === 0 && html`<p class="all-said"><${Icon} name="good" />${derived.later.length + derived.marked.length + derived.faults.length === 0 ? say('This post has nothing to mark.')
        : derived.later.length ? say('What is left is counted at the end.') : say('Everything at this post is marked.')}</p>`}
    </section>
    <section class="rest" tabindex="0" aria-label=${say('All rules of this post')}>
      ${!derived.isTimed && html`<button type="button" class="big to-closing" onClick=${() => setOver(derived.run.id)}><${Icon} name="post" />${say('To the close-out')}</button>`}
      ${derived.faults.length > 0 && html`<h2>${say('Whenever you see it')}</h2><ul class="rows">${derived.faults.map(card => row(card, false))}</ul>`}
      ${derived.passed.length > 0 && html`<h2>${say('Passed over')}</h2><ul class="rows">${derived.passed.map(card => row(card, true))}</ul>`}
      ${byTask(derived.later).map(({ title, cards }) => html`<div key=${title}>
        <h2>${title}</h2><ul class="rows">${cards.map(card => row(card, false))}</ul></div>`)}
      ${derived.marked.length > 0 && html`<h2>${say('Marked, newest first')}</h2><ul class="rows">${derived.marked.map(card => row(card, false))}</ul>`}
      ${derived.info.length > 0 && html`<h2>${say('Watched by the clock, or computed')}</h2><ul class="rows">${derived.info.map(card => row(card, false))}</ul>`}
    </section>
  <//>`
}

function byTask(cards) {
  const groups = []
  for (const card of cards) {
    const title = card.phase === 'start' ? say('Before the start')
      : card.task && card.phase !== 'end' ? card.task.title : say('At the end')
    if (groups.at(-1)?.title !== title) groups.push({ title, cards: [] })
    groups.at(-1).cards.push(card)
  }
  return groups
}

/** Who broke a rule, asked after it is recorded and never in the way. */
function WhoStrip({ derived, acts }) {
  const { last, crew } = derived
  const [quiet, setQuiet] = useState(null)
  const isNameless = last.length === 1 && last[0].kind === 'breach' && !last[0].what.whom
  if (!isNameless || crew.length === 0 || quiet === last[0].id) return null
  return html`<section class="who-strip" aria-label=${say('Who was it?')}>
    <span>${say('Who was it?')}</span>
    ${crew.map(role => html`<button type="button" key=${role} onClick=${() => acts.name(last[0], role)}>${role}</button>`)}
    <button type="button" class="plain" onClick=${() => setQuiet(last[0].id)}>${say('Not sure')}</button></section>`
}

/** What is always in the same place: undo, the record, the danger stop, breaches. */
function Bar({ derived, rules, acts, onSheet }) {
  const { last } = derived
  return html`<footer class="bar">
    <button type="button" class="undo" disabled=${last.length === 0} onClick=${acts.undo}>
      <${Icon} name="undo" /><span><b>${say('Undo')}</b>
      <small>${last.length > 1 ? say('{n} answers', { n: last.length }) : last.length ? inWords(last[0], rules) : say('nothing yet')}</small></span></button>
    <button type="button" class="record-button" onClick=${() => onSheet('record')}><${Icon} name="list" /><span>${say('Marks')}</span></button>
    <${DangerStop} onDanger=${acts.danger} />
    <button type="button" class="breach" onClick=${() => onSheet('breach')}><${Icon} name="breach" /><span>${say('Breach')}</span></button>
  </footer>`
}
