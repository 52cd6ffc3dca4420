import { html, render } from '../../vendor/htm-preact.js'
import { signal } from '../../vendor/signals.js'
import { ServerClock } from '../lib/clock.js'
import { Link } from '../lib/link.js'
import { apply, NOTHING } from './state.js'
import { Board } from './view.js'

const link = new Link()
const clock = new ServerClock()
const state = signal(NOTHING)

async function fetchPosting() {
  state.value = apply(state.value, { name: 'board', ...await link.askUntilAnswered('board') })
}

render(html`<${Board} state=${state} link=${link} now=${() => clock.read().at} />`, document.body)
link.open(async () => {
  const sent = performance.now()
  const { now, pace } = await link.askUntilAnswered('hello')
  clock.pace = pace
  clock.learn(sent * pace, now, now, { restarted: true })
  await fetchPosting()
}, name => { if (name === 'posted') fetchPosting() })
