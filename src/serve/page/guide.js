// SPDX-License-Identifier: Apache-2.0
// The page: listens, shows, answers.
import {Picture, define, around} from './picture.js';
import {beginning, hear} from './story.js';
import * as words from './words.js';
import * as sounds from './sounds.js';

const $ = (selector) => document.querySelector(selector);
const kSounds = ['contact', 'pass', 'fault', 'wrong', 'hold', 'speech', 'bell'];

let board = null;
let story = beginning();
let pictures = null;
let drives = false;
let connection = 'connecting';  // 'live', 'gone', 'over'
let silentUntil = 0;            // number of the last event told before this browser came
let drawing = false;
let holding = 0;
let told = [];  // heard since the last drawing: for the marks of time

// What the person chose, kept in this browser.
const chosen = Object.assign({theme: 'auto', turn: {top: 0, bottom: 0}, sounds: {}}, stored('guide-view', {}));
for (const s of kSounds) if (chosen.sounds[s] === undefined) chosen.sounds[s] = true;
const me = stored('guide-browser', null) || newName();

function stored(name, otherwise) {
  try {
    const text = (name === 'guide-browser' ? sessionStorage : localStorage).getItem(name);
    return text ? JSON.parse(text) : otherwise;
  } catch { return otherwise; }
}
function store(area, name, value) {
  try { area.setItem(name, JSON.stringify(value)); } catch { /* a browser that keeps nothing */ }
}
function newName() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  const name = Array.from(bytes, (b) => b.toString(16).padStart(2, '0')).join('');
  store(sessionStorage, 'guide-browser', name);
  return name;
}

// --- Answers

async function answer(line) {
  if (!drives && line !== 'mute' && line !== 'unmute') return;
  try {
    await fetch(`answer?browser=${me}`, {method: 'POST', body: line, headers: {'Content-Type': 'text/plain'}});
  } catch { /* the connection says so itself */ }
}

function ask(name) {
  const dialog = $('#' + name);
  if (!drives || dialog.open) return;
  dialog.returnValue = '';
  dialog.showModal();
}

function pauseOrGoOn() { answer(story.paused ? 'resume' : 'pause'); }

// --- Listening

function listen() {
  const source = new EventSource(`events?browser=${me}`);
  source.onopen = () => { connection = 'live'; draw(); };
  source.onerror = () => {
    connection = connection === 'over' ? 'over' : 'gone';
    drives = false;
    draw();
    if (source.readyState === EventSource.CLOSED && connection !== 'over') setTimeout(listen, 1000);
  };
  source.addEventListener('role', (e) => { drives = e.data === 'drives'; draw(); });
  source.addEventListener('known', (e) => { silentUntil = Number(e.data); });
  source.onmessage = (e) => {
    const event = JSON.parse(e.data);
    if (event.n <= story.n) return;
    const last = story.touch;
    hear(story, event);
    if (event.n > silentUntil) sound(event, last);
    told.push([event.event, performance.now(), event.n]);
    if (event.event === 'end') {
      connection = 'over';
      source.close();
    }
    draw();
  };
}

function sound(event, last) {
  const kind = event.event;
  if (kind === 'landed') {
    sounds.play('contact');
    clearTimeout(holding);
    holding = setTimeout(() => sounds.hold(true), 600);
  } else if (['read', 'booked', 'lost', 'wrong', 'end', 'touch'].includes(kind)) {
    clearTimeout(holding);
    sounds.hold(false);
  }
  if (kind === 'booked') sounds.play(event.result === 'good' ? 'pass' : 'fault');
  if (kind === 'wrong' || kind === 'lost' || (kind === 'clip' && event.what !== 'proven')) sounds.play('wrong');
  if (kind === 'touch') {
    const over = event.turn_over ? `turn the board over. ` : '';
    sounds.say(over + words.spoken(board.points, event, last, turn(event.side)));
  }
  if (kind === 'wrong') sounds.say(`wrong pad: that is ${event.heard[0] || 'another net'}`);
}

// --- What to show

const side = () => story.touch ? (story.touch.side === 'bottom' ? 'bottom' : 'top') : 'top';
const turn = (of) => chosen.turn[of === 'bottom' ? 'bottom' : 'top'];

function stateOf(s) {
  if (connection === 'gone') return ['gone', '⚠', 'The program does not answer. It may have been stopped: start it again, and open the address that it prints. What was read is kept.'];
  if (connection === 'connecting') return ['waiting', '…', 'Looking for the program'];
  if (s.paused) return ['paused', 'Ⅱ', 'Pause'];
  if (s.exchanged) return ['wrong', '⚠', `Clips ${s.exchanged.channel} and ${s.exchanged.with} are exchanged. Done: take it so. Again: they were put right.`];
  switch (s.phase) {
    case 'air': return ['air', '↑', 'Let all clips and needles hang apart in the air, touching nothing. Then: Done.'];
    case 'clips': return ['clips', '■', 'Fit the clips'];
    case 'lift': return ['lift', '↑', s.lift > 0 ? 'Lift the second needle' : 'Lift the needle'];
    case 'landed': return ['hold', '■', 'Hold still'];
    case 'wrong': return ['wrong', '✕', wrongPad(s)];
    case 'lost': return ['wrong', '↻', 'Lifted too soon. Touch it again'];
    case 'touch': return ['touch', '◎', s.fitting ? 'Fit the clips, then touch' : needle(s.touch)];
    case 'booked': return s.result.kind === 'good' ? ['good', '✓', 'Good. Lift'] : ['fault', '✕', 'Not as it should be. Lift'];
    case 'offer': return ['paused', '?', 'Everything is read. Mend what was found and say so below, or end: Done'];
    case 'end': return [s.verdict === 'pass' ? 'good' : s.verdict === 'fail' ? 'fault' : 'paused',
                        s.verdict === 'pass' ? '✓' : s.verdict === 'fail' ? '✕' : '?', words.verdict(s.verdict)];
    default: return ['waiting', '…', 'The program is getting ready'];
  }
}

const needle = (t) => (t.again ? 'Touch again' : 'Touch') + (t.needle > 0 ? ', second needle' : '');

function wrongPad(s) {
  const heard = s.wrong.heard;
  if (heard.length === 0) return 'Another pad. Lift, and touch the one shown';
  return `Wrong pad: that conducts like ${heard.slice(0, 3).join(', ')}. Lift`;
}

function whereWords(s) {
  if (!s.touch) return '';
  if (s.phase === 'wrong' && s.wrong.heard.length > 0) {
    const like = board.points.find((p) => p.id === s.wrong.heard[0]);
    if (like) return `${s.touch.point} is ${words.offset(like, s.touch, s.touch.side, turn(side()))} of ${like.id}`;
  }
  return words.where(board.points, s.touch, turn(side()));
}

function setWords(element, sign, text) {
  const [a, b] = element.children;
  if (a.textContent !== sign) a.textContent = sign;
  if (b.textContent !== text) b.textContent = text;
}
function setText(selector, text) {
  const e = $(selector);
  if (e.textContent !== text) e.textContent = text;
}

function showNow(s) {
  const [name, sign, text] = stateOf(s);
  document.body.dataset.state = name;
  setWords($('#state'), sign, text);
  const touching = s.touch && ['touch', 'landed', 'wrong', 'lost', 'booked'].includes(s.phase);
  setText('#target', touching ? s.touch.point : '');
  setText('#where', touching ? whereWords(s) : '');
  const left = s.phase === 'end' && s.verdict === 'incomplete' ? 'What is left is listed where the program was started.' : '';
  setText('#why', left || s.note || (touching ? words.meanwhile(s.touch) : ''));
  $('#turn').hidden = !(touching && s.turnOver);
  setText('#turn .words', `Turn the board over: ${side()} side up`);
  const r = s.result;
  const named = r ? `${r.point}: ${r.kind === 'good' ? 'good' : r.kind === 'fault' ? 'not as it should be' : 'more resistance than it should have'}` : '';
  const read = r ? words.reading(r) : '';
  $('#result').dataset.kind = r ? r.kind : '';
  setWords($('#result'), r ? (r.kind === 'good' ? '✓' : '✕') : '', r ? named + (read ? `, ${read}` : '') : '');
}

function showAlerts(s) {
  const lost = [...s.clips.values()].filter((c) => c.state === 'lost');
  const text = lost.map((c) => `Clip ${c.channel} on ${c.point} no longer conducts: see to it.`).join(' ');
  setText('#alerts', s.phase === 'end' ? '' : text);
}

function showProgress(s) {
  const c = s.coverage;
  const percent = c ? Math.floor(100 * c.likelihood) : 0;
  $('#progress').setAttribute('aria-valuenow', percent);
  $('#progress i').style.width = `${percent}%`;
  const left = s.touch ? s.touch.left : s.start ? s.start.touches : 0;
  const time = c ? words.minutes(c.minutes_left) : s.start ? words.minutes(s.start.minutes) : '';
  const text = s.phase === 'end' ? `${percent} % of what is likely excluded`
      : s.start ? `${percent} % of what is likely excluded · ${words.count(left, 'touch', 'touches')} to go, ${time}` : '';
  setText('#progress-words', text);
}

function item(...children) {
  const li = document.createElement('li');
  li.append(...children);
  return li;
}
function span(name, text) {
  const e = document.createElement('span');
  e.className = name;
  e.textContent = text;
  return e;
}

function showClips(s) {
  const list = s.fitting ? s.toFit : [...s.clips.values()].filter((c) => c.state !== 'proven');
  const section = $('#clips');
  section.hidden = s.phase === 'end' || (list.length === 0 && !(s.fitting && s.toRemove.length > 0));
  section.classList.toggle('now', s.fitting);
  if (section.hidden) return;
  section.querySelector('h2').textContent = !s.fitting ? 'Clips not proven yet'
      : s.round ? `Clips to fit, round ${s.round.round} of ${s.round.of}` : 'Clips to fit';
  section.querySelector('ol').replaceChildren(
      ...(s.fitting ? s.toRemove.map((c) => item(span('channel', c), span('', 'take it off'))) : []),
      ...list.map((c) => item(span('channel', c.channel), span('point', c.point),
                              span('quiet', `${c.net}, ${words.clipPlace(board.points, c, side(), turn(side()))}`))));
}

function mendedButton(number, finding) {
  const b = document.createElement('button');
  b.type = 'button';
  b.textContent = 'Mended';
  b.setAttribute('aria-label', `Mended: ${words.kind(finding.kind)} of ${finding.nets.join(' and ')}`);
  b.addEventListener('click', () => answer(`mended ${number}`));
  return b;
}

function showFindings(s) {
  const section = $('#findings');
  section.querySelector('.none').hidden = s.findings.length > 0;
  section.querySelector('.none').textContent = s.phase === 'end' ? 'Nothing.' : 'Nothing so far.';
  section.querySelector('ol').replaceChildren(...s.findings.map((f) => {
    const first = (f.suspects || [])[0];
    const place = first ? `${first.side}, ${first.x_mm.toFixed(2)}, ${first.y_mm.toFixed(2)} mm${first.why ? ': ' + first.why : ''}` : '';
    const li = item(span('kind', words.kind(f.kind)), span('', ` ${f.nets.join(' and ')} `), span('quiet', place));
    li.classList.toggle('withdrawn', !!f.withdrawn);
    if (f.withdrawn) li.append(span('quiet', ' no longer'));
    else if (drives && s.phase !== 'end') li.append(mendedButton(s.findings.indexOf(f) + 1, f));
    return li;
  }));
}

function showPictures(s) {
  const from = side();
  const whole = pictures.whole;
  whole.lay(from, turn(from), null);
  for (const d of s.done.values()) if (words.on(d, from)) (d.result === 'good' ? whole.good(d) : whole.bad(d));
  const clips = s.fitting ? s.toFit : [...s.clips.values()];
  for (const c of clips) if (words.on(c, from)) whole.clip(c, s.fitting);
  s.findings.forEach((f, i) => {
    if (f.withdrawn) return;
    for (const suspect of (f.suspects || []).slice(0, 1))
      if (suspect.side === from || suspect.side === 'both') whole.suspect(suspect, i + 1);
  });
  const shown = s.touch && s.phase !== 'end';
  const heard = shown && s.phase === 'wrong' ? board.points.filter((p) => s.wrong.heard.includes(p.id) && words.on(p, from)) : [];
  for (const p of heard) whole.bad(p, 'heard', 9);
  if (shown && s.touch.beside && words.on(s.touch.beside, from)) whole.stays(s.touch.beside);
  if (shown) whole.target(s.touch, s.touch.needle, 0);
  setText('#whole figcaption', from === 'bottom' ? 'Bottom side, mirrored: as you see it with the board turned over left to right' : 'Top side');
  setText('#turned', `${turn(from)}°`);

  $('#close').hidden = !shown;
  if (!shown) return;
  const close = pictures.close;
  close.lay(from, turn(from), around(board, s.touch, turn(from)));
  const point = board.points.find((p) => p.id === s.touch.point) || {};
  for (const d of s.done.values()) if (d.result !== 'good' && words.on(d, from) && close.holds(close.at(d))) close.bad(d);
  for (const p of heard) close.bad(p, 'heard', 16);
  for (const c of s.clips.values()) if (words.on(c, from) && close.holds(close.at(c)) && c.point !== s.touch.point) close.clip(c, true);
  const clear = point.size_mm || 0.5;
  const beside = s.touch.beside;
  if (beside && words.on(beside, from) && close.holds(close.at(beside))) close.stays(beside);
  close.target(s.touch, s.touch.needle, clear);
  close.names(s.touch, clear);
  setText('#close figcaption', `${s.touch.point} on ${s.touch.net}, ${from} side`);
}

function showButtons(s) {
  $('#role').hidden = drives || connection !== 'live' || s.n === 0;
  for (const b of document.querySelectorAll('nav button')) b.disabled = !drives || s.phase === 'end';
  const pause = $('#pause');
  const text = s.paused ? 'Go on ' : 'Pause ';
  if (pause.firstChild.data !== text) pause.firstChild.data = text;
}

function draw() {
  if (drawing) return;
  drawing = true;
  requestAnimationFrame(() => {
    drawing = false;
    if (!board) return;
    showNow(story);
    showAlerts(story);
    showProgress(story);
    showClips(story);
    showFindings(story);
    showPictures(story);
    showButtons(story);
    document.body.dataset.n = story.n;
    const shown = told;
    told = [];
    setTimeout(() => marks(shown));  // after the frame is painted
  });
}

// For whoever measures how long it takes until the next target is on the screen.
function marks(shown) {
  if (performance.getEntriesByType('mark').length > 2000) performance.clearMarks();
  for (const [name, when, n] of shown) {
    if (name === 'read') performance.mark('read', {startTime: when, detail: n});
    if (name === 'touch') {
      performance.mark('told', {startTime: when, detail: n});
      performance.mark('target', {detail: n});
    }
  }
}

// --- Keys, buttons, choices

function keep() {
  store(localStorage, 'guide-view', chosen);
  sounds.choose(chosen.sounds);
  if (chosen.theme === 'auto') delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = chosen.theme;
  draw();
}

function turnBy(degrees) {
  chosen.turn[side()] = (((turn(side()) + degrees) % 360) + 360) % 360;
  keep();
}

const kKeys = {
  'Enter': () => answer('done'), ' ': () => answer('done'), 'd': () => answer('done'),
  'a': () => answer('again'), 'u': () => answer('undo'), 'c': () => answer('cannot-reach'),
  's': () => ask('skip'), 'q': () => ask('quit'), 'p': pauseOrGoOn,
  '[': () => turnBy(-15), ']': () => turnBy(15),
  'm': () => {
    const loud = kSounds.some((s) => chosen.sounds[s]);
    for (const s of kSounds) chosen.sounds[s] = !loud;
    answer(loud ? 'mute' : 'unmute');
    sounds.hold(false);
    keep();
  },
  't': () => {
    const dark = chosen.theme === 'dark' || (chosen.theme === 'auto' && matchMedia('(prefers-color-scheme: dark)').matches);
    chosen.theme = dark ? 'light' : 'dark';
    keep();
  },
};

function onKey(e) {
  if (e.ctrlKey || e.altKey || e.metaKey || e.repeat) return;
  if (document.querySelector('dialog[open]') || /^(INPUT|TEXTAREA|SELECT)$/.test(e.target.tagName)) return;
  if (e.target.tagName === 'BUTTON' && (e.key === 'Enter' || e.key === ' ')) return;
  const act = kKeys[e.key.length === 1 ? e.key.toLowerCase() : e.key];
  if (!act) return;
  e.preventDefault();
  act();
}

function wire() {
  document.addEventListener('keydown', onKey);
  for (const b of document.querySelectorAll('[data-answer]')) {
    b.addEventListener('click', () => {
      if (b.id === 'pause') pauseOrGoOn();
      else answer(b.dataset.answer);
      b.blur();  // so that the next Enter is an answer, not this button again
    });
  }
  for (const b of document.querySelectorAll('[data-ask]')) b.addEventListener('click', () => ask(b.dataset.ask));
  for (const b of document.querySelectorAll('[data-turn]')) b.addEventListener('click', () => turnBy(Number(b.dataset.turn)));
  $('#skip').addEventListener('close', () => {
    if ($('#skip').returnValue === 'yes') answer(`skip ${$('#skip-why').value.trim() || 'skipped'}`);
  });
  $('#quit').addEventListener('close', () => { if ($('#quit').returnValue === 'yes') answer('quit'); });
  $('#open-settings').addEventListener('click', () => {
    $('#no-voice').hidden = sounds.voice() !== null;
    $('#settings').showModal();
  });
  for (const box of document.querySelectorAll('[data-sound]')) {
    box.checked = chosen.sounds[box.dataset.sound];
    box.addEventListener('change', () => {
      chosen.sounds[box.dataset.sound] = box.checked;
      sounds.begin();
      if (box.dataset.sound === 'bell') answer(box.checked ? 'unmute' : 'mute');
      else if (box.checked && box.dataset.sound in {contact: 1, pass: 1, fault: 1, wrong: 1}) sounds.play(box.dataset.sound);
      keep();
    });
  }
  for (const radio of document.querySelectorAll('[name=theme]')) {
    radio.checked = radio.value === chosen.theme;
    radio.addEventListener('change', () => { chosen.theme = radio.value; keep(); });
  }
  $('#with-sound').addEventListener('click', () => { sounds.begin(); $('#begin').close(); });
  $('#without-sound').addEventListener('click', () => $('#begin').close());
  window.addEventListener('resize', draw);
}

async function begin() {
  wire();
  keep();
  const got = await fetch('board.json');
  board = await got.json();
  document.title = `${board.board}: guide`;
  setText('#board-name', `${board.board}, ${board.stage}`);
  setText('#safety', board.safety);
  define(board);
  pictures = {whole: new Picture($('#whole svg'), board), close: new Picture($('#close svg'), board)};
  $('#begin').showModal();
  listen();
  draw();
}

begin();
