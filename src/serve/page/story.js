// SPDX-License-Identifier: Apache-2.0
// What the events so far amount to. A browser that comes late, or again, reads the same events and
// arrives at the same story.

export function beginning() {
  return {
    n: 0, phase: 'waiting', start: null, touch: null, last: null, turnOver: false,
    clips: new Map(), toFit: [], toRemove: [], round: null, fitting: false,
    done: new Map(), lift: null, wrong: null, result: null, reading: null, note: '',
    exchanged: null, findings: [], coverage: null, paused: false, verdict: null,
  };
}

const kTellers = {
  start(s, e) { s.start = e; s.phase = 'waiting'; },
  air(s) { s.phase = 'air'; },
  clips(s, e) {
    s.round = e.of > 1 ? e : null;
    s.toRemove = e.remove || [];
    for (const channel of s.toRemove) s.clips.delete(channel);
    s.toFit = e.clips.filter((c) => !same(s.clips.get(c.channel), c));
    s.clips = new Map(e.clips.map((c) => [c.channel, {...c, state: kept(s.clips.get(c.channel), c)}]));
    s.fitting = s.toFit.length > 0 || s.toRemove.length > 0;
    s.phase = 'clips';
  },
  touch(s, e) {
    s.last = s.touch;
    s.touch = e;
    s.turnOver = e.turn_over;
    s.wrong = null;
    s.phase = 'touch';
  },
  lift(s, e) { s.lift = e.needle; s.phase = 'lift'; },
  landed(s) { s.phase = 'landed'; s.fitting = false; s.turnOver = false; s.lift = null; s.wrong = null; s.note = ''; },
  read(s, e) { s.reading = {...e, point: s.touch ? s.touch.point : ''}; },
  booked(s, e) {
    s.phase = 'booked';
    s.result = {...(s.reading || {}), kind: e.result, point: s.touch ? s.touch.point : ''};
    if (s.touch) s.done.set(s.touch.point + ' ' + s.touch.side, {...s.touch, result: e.result});
  },
  wrong(s, e) { s.phase = 'wrong'; s.wrong = e; },
  lost(s) { s.phase = 'lost'; },
  clip(s, e) {
    const clip = s.clips.get(e.channel);
    if (clip && e.what !== 'exchanged') clip.state = e.what;
    s.exchanged = e.what === 'exchanged' ? e : s.exchanged && e.what === 'proven' ? null : s.exchanged;
  },
  finding(s, e) {
    const key = JSON.stringify([e.kind, e.nets]);
    const at = s.findings.findIndex((f) => f.key === key);
    const finding = {...e, key};
    if (at >= 0) s.findings[at] = finding;
    else s.findings.push(finding);
  },
  withdrawn(s, e) {
    const key = JSON.stringify([e.kind, e.nets]);
    for (const f of s.findings) if (f.key === key) f.withdrawn = true;
  },
  offer(s) { s.phase = 'offer'; },
  coverage(s, e) { s.coverage = e; },
  pause(s) { s.paused = true; },
  resume(s) { s.paused = false; },
  undone(s, e) { s.note = `Taken back: ${e.why || 'the last touch'}.`; s.result = null; },
  skipped(s, e) { s.note = `Left out${e.why ? ': ' + e.why : ''}.`; },
  rest(s) { s.note = '25 minutes without a pause: rest eyes and hand? Nothing times out.'; },
  end(s, e) { s.phase = 'end'; s.verdict = e.verdict; s.paused = false; s.exchanged = null; },
};

const same = (a, b) => a && a.point === b.point && a.side === b.side;
const kept = (a, b) => same(a, b) ? a.state : '';

// Newer programs may tell more than this page knows.
export function hear(story, event) {
  story.n = event.n;
  const teller = kTellers[event.event];
  if (teller) teller(story, event);
}
