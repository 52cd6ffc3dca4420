import { html, render } from '../../vendor/htm-preact.js'
import { effect } from '../../vendor/signals.js'
import { Session } from '../lib/session.js'
import { apply, NOTHING } from './state.js'
import { Desk } from './view.js'

/** Announcements this close together are one fetch of the standings, in milliseconds. */
const TOGETHER = 500

const session = new Session(apply, NOTHING, { onPush: news })
let soon = null

render(html`<${Desk} session=${session} onPublish=${publish} />`, document.body)
session.begin()

let shown = null
effect(() => {
  const { chosen } = session.state.value
  if (chosen && chosen !== shown) {
    shown = chosen
    queueMicrotask(() => fetchCard(chosen))
  }
})

function news(name, data) {
  if (name === 'hello') {
    fetchStandings()
    fetchPosting()
    fetchCard(session.state.peek().chosen)
  }
  if (name === 'posted') fetchPosting()
  if (name === 'reached') {
    if (data.run === session.state.peek().chosen) fetchCard(data.run)
    soon ??= setTimeout(() => { soon = null; fetchStandings() }, TOGETHER)
  }
}

async function fetchCard(run) {
  const reply = run && await session.ask('card', { run })
  if (reply) {
    session.tell({ name: 'stage', run: reply.run })
    session.tell({ name: 'card', run, card: reply.scorecard })
  }
}

async function fetchStandings() {
  const reply = await session.ask('standings')
  if (reply) session.tell({ name: 'standings', rows: reply.rows })
}

async function fetchPosting() {
  const reply = await session.ask('board')
  if (reply) session.tell({ name: 'board', posting: reply.posting })
}

async function publish(standing, reason) {
  await session.ask('publish', { standing, reason })
}
