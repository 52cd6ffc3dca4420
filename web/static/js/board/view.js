import { html } from '../../vendor/htm-preact.js'
import { useEffect, useLayoutEffect, useRef, useState } from '../../vendor/preact-hooks.js'
import { cost, decimalsOf, ofDay, points, time } from '../lib/format.js'
import { Icon } from '../lib/icons.js'
import { say, sayMany } from '../lib/words.js'
import { page } from './state.js'

/** How long a page of rows stays, in milliseconds. */
const STAYS = 12_000

/** The public board: what is posted, and nothing else. */
export function Board({ state, link, now }) {
  const { posting, isKnown } = state.value
  const isLost = link.state.value !== 'open'
  if (!posting) {
    return html`<main class="board is-empty"><h1>${say('Standings')}</h1>
      <p>${isKnown ? say('Nothing is posted yet.') : say('Connecting…')}</p>
      <p class="small">${isKnown && say('They appear here by themselves.')}</p></main>`
  }
  return html`<main class="board">
    <header><h1>${posting.title}</h1>
      <p class="standing is-${posting.standing}"><b>${posting.standing === 'official' ? say('Official') : say('Provisional')}</b>
        <span>${say('Posting {n}', { n: posting.number })} · ${ofDay(posting.posted_at)} · <${Age} since=${posting.posted_at} now=${now} /></span>
        ${isLost && html`<span class="lost"><${Icon} name="lost" />${say('no connection')}</span>`}</p></header>
    <${Rows} key=${posting.number} rows=${posting.rows} />
  </main>`
}

function Age({ since, now }) {
  const [, again] = useState(0)
  useEffect(() => {
    const timer = setInterval(() => again(n => n + 1), 10_000)
    return () => clearInterval(timer)
  }, [])
  const minutes = Math.floor(Math.max(0, now() - since) / 60_000)
  if (minutes < 1) return say('just now')
  return minutes < 120 ? sayMany('{n} minute ago', '{n} minutes ago', minutes)
    : sayMany('{n} hour ago', '{n} hours ago', Math.floor(minutes / 60))
}

/** As many rows as fit; further ones take turns, until somebody pauses them. */
function Rows({ rows }) {
  const place = useRef(null)
  const tallest = useRef(1)
  const [perPage, setPerPage] = useState(rows.length || 1)
  const [at, setAt] = useState(0)
  const [paused, setPaused] = useState(false)
  const shown = page(rows, perPage, at)
  const decimals = decimalsOf(...rows.flatMap(row => [row.time, row.unit === 'points' ? 0 : row.total]))
  // Nobody is ranked by an assessment.
  const isAssessed = rows.some(row => row.outcome)
  const hasDivisions = new Set(rows.map(row => row.division)).size > 1
  useLayoutEffect(() => {
    const fit = () => {
      const table = place.current
      const height = table.parentElement.clientHeight
      const [head, ...lines] = [...table.querySelectorAll('tr')].map(row => row.getBoundingClientRect().height)
      tallest.current = Math.max(tallest.current, ...lines)
      const fits = matchMedia('(max-width: 40rem)').matches ? rows.length : Math.floor((height - head) / tallest.current)
      setPerPage(Math.max(1, fits))
    }
    const watcher = new ResizeObserver(() => { tallest.current = 1; fit() })
    fit()
    watcher.observe(place.current.parentElement)
    return () => watcher.disconnect()
  }, [rows])
  useEffect(() => {
    if (paused || shown.pages === 1) return undefined
    const timer = setInterval(() => setAt(n => n + 1), STAYS)
    return () => clearInterval(timer)
  }, [paused, shown.pages])
  return html`<div class="board-rows"><table ref=${place}>
      <caption class="unseen-words">${say('Standings')}</caption>
      <thead><tr>${!isAssessed && html`<th scope="col">${say('Place')}</th>`}<th scope="col">${say('Team')}</th>
        ${hasDivisions && html`<th scope="col">${say('Division')}</th>`}
        <th scope="col" class="number is-time">${say('Time')}</th><th scope="col" class="number is-penalty">${say('Penalties')}</th><th scope="col" class="number">${isAssessed ? say('Outcome') : say('Total')}</th></tr></thead>
      <tbody>${shown.rows.map(row => html`<tr key=${row.team} class=${row.total === null ? 'is-out' : ''}>
        ${!isAssessed && html`<td class="place">${row.place ?? '–'}${row.tied && html`<small>${say('shared')}</small>`}</td>`}
        <th scope="row" class="team"><span>${row.team_name}</span></th>
        ${hasDivisions && html`<td class="division">${row.division}${row.division_place && html` <b>${row.division_place}</b>`}</td>`}
        <td class="number is-time">${row.time === null ? '' : time(row.time, decimals)}</td>
        <td class="number is-penalty">${row.time === null && row.total === null ? '' : costs(row)}</td>
        <td class="number total">${row.total === null || row.outcome ? statusName(row) : row.unit === 'points' ? points(row.total) : time(row.total, decimals)}</td></tr>`)}</tbody>
    </table></div>
    ${shown.pages > 1 && html`<footer><span>${say('Page {n} of {all}', { n: shown.at + 1, all: shown.pages })}</span>
      <button type="button" onClick=${() => setPaused(!paused)}>${paused ? say('Go on') : say('Pause')}</button></footer>`}`
}

/** What a run's failures cost, and what it was given. */
export function costs({ penalty, bonus, unit }) {
  const sign = unit === 'points' || !penalty ? '' : '+'
  return html`${sign}${cost(penalty, unit)}${bonus ? html` <small>${say('{amount} given', { amount: cost(bonus, unit) })}</small>` : ''}`
}

/** What the time cost or gave in points. */
export function timeCost(amount) {
  return amount < 0 ? say('{n} given for time', { n: points(-amount) }) : say('{n} for time', { n: points(amount) })
}

/** What stands in the place of a total. */
export function statusName(row) {
  if (row.outcome) return row.outcome === 'competent' ? say('competent') : say('not yet')
  return {
    'did not start': say('did not start'),
    'did not finish': say('did not finish'),
    disqualified: say('disqualified'),
  }[row.status] ?? say('no result yet')
}
