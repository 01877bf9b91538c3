// SPDX-License-Identifier: Apache-2.0
// Pans, zooms, jumps and searches. The page says everything without it.
(() => {
'use strict';
const $ = (selector, root = document) => root.querySelector(selector);
const all = (selector, root = document) => [...root.querySelectorAll(selector)];
const SVG = 'http' + '://www.w3.org/2000/svg';  // a name, not an address: nothing is asked for
const data = JSON.parse($('#board-data').textContent);
document.documentElement.classList.add('live');

const make = (tag, attributes) => {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  return element;
};
const clamp = (v, lo, hi) => Math.min(Math.max(v, lo), hi);
const say = (text) => { $('#said').textContent = text; };

// One side of the board: what is seen of it is a box of the artwork in mm, y down, x mirrored below.
class Picture {
  constructor(figure) {
    this.figure = figure;
    this.stage = $('.stage', figure);
    this.svg = $('svg.board', figure);
    this.below = figure.dataset.side === 'bottom';
    const [x, y, w, h] = this.svg.getAttribute('viewBox').split(' ').map(Number);
    this.whole = {x, y, w, h};
    this.box = {...this.whole};
    this.names = all('.names', this.svg);
    this.scale = $('.scale', this.svg);
    this.readout = $('.readout', figure);
    this.pointers = new Map();
    const side = this.below ? 'Bottom' : 'Top';
    this.stage.tabIndex = 0;
    this.stage.setAttribute('role', 'group');
    this.stage.setAttribute('aria-label', `${side} side of the board: arrow keys move, plus and minus zoom, 0 shows all`);
    this.listen();
    new ResizeObserver(() => this.show()).observe(this.svg);
    this.show();
  }

  get px() { return Math.max(this.box.w / (this.svg.clientWidth || 760), this.box.h / (this.svg.clientHeight || 570)); }

  show() {
    const {x, y, w, h} = this.box, px = this.px;
    this.svg.setAttribute('viewBox', `${x} ${y} ${w} ${h}`);
    this.svg.style.setProperty('--px', px);
    for (const group of this.names) group.classList.toggle('fine', group.dataset.mm / px < 7);
    this.stage.classList.toggle('near', w < 0.99 * this.whole.w);
    this.showScale(px);
  }

  showScale(px) {
    const wanted = this.box.w / 6, ten = 10 ** Math.floor(Math.log10(wanted));
    const length = [5, 2, 1].map((f) => f * ten).find((l) => l <= wanted);
    const d = `M0 -4V4M0 0H${length / px}M${length / px} -4V4`;
    for (const path of all('path', this.scale)) path.setAttribute('d', d);
    $('text', this.scale).textContent = `${Number(length.toPrecision(1))} mm`;
    const x = this.box.x + (this.box.w - length) / 2, y = this.box.y + this.box.h - 10 * px;
    this.scale.setAttribute('transform', `scale(${this.below ? -1 : 1} -1) translate(${x} ${y})`);
    $('.bar', this.scale).setAttribute('transform', `scale(${px})`);
  }

  // `w` of the box; what lies at (x, y) stays where it is.
  zoomTo(w, x, y) {
    const f = clamp(w, 0.8, this.whole.w) / this.box.w;
    this.box = {x: x + (this.box.x - x) * f, y: y + (this.box.y - y) * f, w: this.box.w * f, h: this.box.h * f};
    this.move(0, 0);
  }
  zoom(f, x = this.box.x + this.box.w / 2, y = this.box.y + this.box.h / 2) { this.zoomTo(this.box.w * f, x, y); }
  move(dx, dy) {
    const {whole, box} = this;
    box.x = clamp(box.x + dx, whole.x, whole.x + whole.w - box.w);
    box.y = clamp(box.y + dy, whole.y, whole.y + whole.h - box.h);
    this.show();
  }
  all() { this.box = {...this.whole}; this.show(); }

  // The place (mm of the artwork) in the middle, `across` mm around it.
  look(x, y, across) {
    const w = clamp(across, 0.8, this.whole.w), h = w * this.whole.h / this.whole.w;
    this.box = {x: (this.below ? -x : x) - w / 2, y: -y - h / 2, w, h};
    this.move(0, 0);
    this.stage.scrollIntoView({block: 'nearest'});
    this.stage.focus({preventScroll: true});
  }

  at(event) {
    const p = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [p.x, p.y];
  }

  listen() {
    const {svg, stage} = this;
    stage.addEventListener('keydown', (e) => this.key(e));
    stage.addEventListener('wheel', (e) => {
      if (!e.ctrlKey && document.activeElement !== stage) return;
      e.preventDefault();
      this.zoom(2 ** (clamp(e.deltaY, -200, 200) / 300), ...this.at(e));
    }, {passive: false});
    svg.addEventListener('pointerdown', (e) => {
      stage.focus({preventScroll: true});
      if (e.pointerType !== 'mouse' || e.button === 0) this.pointers.set(e.pointerId, [e.clientX, e.clientY]);
      if (e.pointerType === 'mouse') svg.setPointerCapture(e.pointerId);
    });
    svg.addEventListener('pointermove', (e) => this.drag(e));
    for (const end of ['pointerup', 'pointercancel', 'pointerleave'])
      svg.addEventListener(end, (e) => this.pointers.delete(e.pointerId));
    svg.addEventListener('dragstart', (e) => e.preventDefault());
    for (const button of all('[data-do]', this.figure)) {
      button.addEventListener('click', () => ({in: () => this.zoom(0.6), out: () => this.zoom(1 / 0.6), whole: () => this.all()})[button.dataset.do]());
    }
  }

  drag(e) {
    const [x, y] = this.at(e);
    this.readout.textContent = `${(this.below ? -x : x).toFixed(2)}, ${(-y).toFixed(2)} mm`;
    const from = this.pointers.get(e.pointerId);
    if (!from) return;
    const px = this.px, now = [e.clientX, e.clientY];
    const other = [...this.pointers].find(([id]) => id !== e.pointerId);
    this.pointers.set(e.pointerId, now);
    if (other) {
      const [, o] = other, before = Math.hypot(from[0] - o[0], from[1] - o[1]), after = Math.hypot(now[0] - o[0], now[1] - o[1]);
      if (after > 5) this.zoom(before / after, ...this.at({clientX: (now[0] + o[0]) / 2, clientY: (now[1] + o[1]) / 2}));
    }
    this.move((from[0] - now[0]) * px / (other ? 2 : 1), (from[1] - now[1]) * px / (other ? 2 : 1));
  }

  key(e) {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const step = this.box.w / 8;
    const does = {
      ArrowLeft: () => this.move(-step, 0), ArrowRight: () => this.move(step, 0),
      ArrowUp: () => this.move(0, -step), ArrowDown: () => this.move(0, step),
      '+': () => this.zoom(0.6), '=': () => this.zoom(0.6), '-': () => this.zoom(1 / 0.6), '0': () => this.all(),
    }[e.key];
    if (!does) return;
    e.preventDefault();
    does();
  }
}

const pictures = all('.side').map((figure) => new Picture(figure));
const picture = (bottom) => pictures.find((p) => p.below === bottom) || pictures[0];

// Jumps from lists to the board.
const jump = (id) => {
  const mark = document.getElementById(id);
  const on = mark && pictures.find((p) => p.svg.contains(mark));
  if (!on) return false;
  for (const old of all('.current')) old.classList.remove('current');
  mark.classList.add('current');
  on.look(Number(mark.dataset.x), Number(mark.dataset.y), Math.max(10, 1.6 * Number(mark.dataset.w)));
  say(mark.dataset.say);
  history.replaceState(null, '', '#' + id);
  return true;
};
document.addEventListener('click', (e) => {
  const link = e.target.closest('a[href^="#mark-"]');
  if (link && jump(link.getAttribute('href').slice(1))) e.preventDefault();
});

let current = -1;
const findings = all('.list .jump').map((a) => a.getAttribute('href').slice(1));
const step = (by) => {
  if (findings.length === 0) return;
  current = current < 0 && by < 0 ? findings.length - 1 : (current + by + findings.length) % findings.length;
  jump(findings[current]);
};

// Search.
const input = $('#search'), list = $('#hits'), kMost = 30;
const sought = (x, y) => {
  const mark = make('g', {class: 'mark sought', transform: `translate(${x} ${y})`});
  const px = make('g', {class: 'px'}), d = 'M14 0A14 14 0 1 1 -14 0A14 14 0 1 1 14 0M-20 0H-14M14 0H20M0 -20V-14M0 14V20';
  px.append(make('path', {class: 'halo', d}), make('path', {d}));
  mark.append(px);
  return mark;
};
const clear = () => { for (const old of all('.sought, .lit')) old.remove(); };
const ground = (p) => $('svg.board > g', p.figure);

const showPoint = ([id, net, x, y, side]) => {
  clear();
  const p = picture(side === 1);
  ground(p).append(sought(x, y));
  p.look(x, y, 12);
  say(`${id}, net ${data.nets[net][0]}, ${x.toFixed(2)}, ${y.toFixed(2)} mm, ${['top', 'bottom', 'both sides'][side]}`);
};
const showNet = (n) => {
  clear();
  const points = data.points.filter((p) => p[1] === n);
  const firstOn = points.some((p) => p[4] !== 1) ? picture(false) : picture(true);
  for (const p of pictures) {
    for (const island of data.nets[n][p.below ? 2 : 1])
      ground(p).insertBefore(make('use', {href: '#i' + island, class: 'lit', transform: 'scale(.001)'}), $('.name', ground(p)));
  }
  const xs = points.map((p) => p[2]), ys = points.map((p) => p[3]);
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const shape = firstOn.whole.w / firstOn.whole.h;
  firstOn.look((x0 + x1) / 2, (y0 + y1) / 2, Math.max(8, 1.25 * Math.max(x1 - x0, (y1 - y0) * shape)));
  say(`Net ${data.nets[n][0]}: ${points.length} point${points.length === 1 ? '' : 's'}: ${points.slice(0, 12).map((p) => p[0]).join(', ')}${points.length > 12 ? ' …' : ''}`);
};

const search = () => {
  const words = input.value.trim().toLowerCase();
  list.replaceChildren();
  if (!words) { clear(); say(''); return; }
  const rank = (name) => { const at = name.toLowerCase().indexOf(words); return at < 0 ? null : (at > 0 ? 2 : name.length > words.length ? 1 : 0); };
  const hits = [];
  data.nets.forEach(([name], n) => { const r = rank(name); if (r !== null) hits.push({r, words: `net ${name}`, go: () => showNet(n)}); });
  for (const p of data.points) { const r = rank(p[0]); if (r !== null) hits.push({r, words: `${p[0]}, net ${data.nets[p[1]][0]}`, go: () => showPoint(p)}); }
  hits.sort((a, b) => a.r - b.r);
  for (const hit of hits.slice(0, kMost)) {
    const item = document.createElement('li'), button = document.createElement('button');
    button.type = 'button';
    button.textContent = hit.words;
    button.addEventListener('click', () => { list.replaceChildren(); hit.go(); });
    item.append(button);
    list.append(item);
  }
  say(hits.length === 0 ? 'Nothing of this name' : `${hits.length} found${hits.length > kMost ? `, the first ${kMost} listed` : ''}`);
};
input.addEventListener('input', search);
input.addEventListener('keydown', (e) => {
  const first = $('button', list);
  if (e.key === 'Enter' && first) first.click();
  if (e.key === 'ArrowDown' && first) { first.focus(); e.preventDefault(); }
  if (e.key === 'Escape') { input.value = ''; search(); }
});
list.addEventListener('keydown', (e) => {
  const buttons = all('button', list), at = buttons.indexOf(document.activeElement);
  if (e.key === 'ArrowDown') buttons[Math.min(at + 1, buttons.length - 1)].focus();
  if (e.key === 'ArrowUp') (at > 0 ? buttons[at - 1] : input).focus();
  if (e.key === 'Escape') { list.replaceChildren(); input.focus(); }
  if (['ArrowDown', 'ArrowUp', 'Escape'].includes(e.key)) e.preventDefault();
});

document.addEventListener('keydown', (e) => {
  if (e.ctrlKey || e.metaKey || e.altKey || e.target.matches('input[type=search]')) return;
  if (e.key === '/') { input.focus(); e.preventDefault(); }
  if (e.key === 'n') step(1);
  if (e.key === 'p') step(-1);
});

// Paper shows the whole side.
let kept = [];
addEventListener('beforeprint', () => { kept = pictures.map((p) => p.box); for (const p of pictures) p.all(); });
addEventListener('afterprint', () => pictures.forEach((p, i) => { p.box = kept[i] || p.box; p.show(); }));
if (location.hash === '#overlay') $('#paper-overlay').checked = true;
if (location.hash.startsWith('#mark-')) jump(location.hash.slice(1));
})();
