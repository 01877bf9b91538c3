// SPDX-License-Identifier: Apache-2.0
// The board from the side in hand: as a whole, and close up. Marks keep their size on the screen and
// their letters upright, however the board is turned.
import {seen, on, distance, reference} from './words.js';

const kSvg = 'http://www.w3.org/2000/svg';

function make(tag, attributes, text) {
  const e = document.createElementNS(kSvg, tag);
  for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
  if (text !== undefined) e.textContent = text;
  return e;
}

// The copper, once; both pictures refer to it.
export function define(board) {
  const text = `<svg xmlns="${kSvg}" width="0" height="0" aria-hidden="true">${board.shapes}</svg>`;
  const parsed = new DOMParser().parseFromString(text, 'image/svg+xml').documentElement;
  parsed.setAttribute('class', 'shapes');
  document.body.append(document.importNode(parsed, true));
}

function laminate(board, side, turn) {
  const [[x0, y0], [x1, y1]] = board.area_mm;
  const g = make('g', {transform: `rotate(${turn}) scale(${side === 'bottom' ? -1 : 1} -1)`});
  g.append(make('rect', {class: 'laminate', x: x0, y: y0, width: x1 - x0, height: y1 - y0}));
  const front = board.layers.includes(side) ? side : board.layers[0];
  for (const layer of board.layers)
    if (layer !== front) g.append(make('use', {href: `#copper-${layer}`, class: 'behind'}));
  g.append(make('use', {href: `#copper-${front}`, class: 'copper'}));
  g.append(make('use', {href: '#holes', class: 'holes'}));
  g.append(make('use', {href: '#outline', class: 'edge'}));
  return g;
}

// Box of the turned board in the picture's coordinates.
function turned(board, side, turn) {
  const [[x0, y0], [x1, y1]] = board.area_mm;
  const corners = [[x0, y0], [x0, y1], [x1, y0], [x1, y1]].map(([x, y]) => seen({x_mm: x, y_mm: y}, side, turn));
  const xs = corners.map((c) => c.x);
  const ys = corners.map((c) => c.y);
  return {x: Math.min(...xs), y: Math.min(...ys), w: Math.max(...xs) - Math.min(...xs), h: Math.max(...ys) - Math.min(...ys)};
}

export class Picture {
  constructor(svg, board) {
    this.svg = svg;
    this.board = board;
    this.marks = make('g', {class: 'marks'});
    this.shows = '';
  }

  // Draws the copper only where side, turn or place changed.
  lay(side, turn, box) {
    const key = JSON.stringify([side, turn, box]);
    this.side = side;
    this.turn = turn;
    this.box = box || turned(this.board, side, turn);
    if (key !== this.shows) {
      this.svg.setAttribute('viewBox', `${this.box.x} ${this.box.y} ${this.box.w} ${this.box.h}`);
      const copper = `${side} ${turn}`;
      if (copper !== this.copper) this.svg.replaceChildren(laminate(this.board, side, turn), this.marks);
      this.copper = copper;
      this.shows = key;
    }
    const wide = this.svg.clientWidth || 400;
    const high = this.svg.clientHeight || 300;
    this.mm = Math.max(this.box.w / wide, this.box.h / high);  // of one pixel
    this.marks.replaceChildren();
  }

  at(place) { return seen(place, this.side, this.turn); }
  holds(p, margin = 0) {
    const b = this.box;
    return p.x > b.x - margin && p.x < b.x + b.w + margin && p.y > b.y - margin && p.y < b.y + b.h + margin;
  }

  // Every line twice, dark under light: seen on copper, laminate and paper.
  twice(tag, attributes, name) {
    for (const layer of ['under', 'over']) this.marks.append(make(tag, {...attributes, class: `${name} ${layer}`}));
  }

  // First needle: a ring; second: a square on its tip. Both with four arrows that point at the pad.
  target(place, needle, clear) {
    const p = this.at(place);
    const r = Math.max(clear, 13 * this.mm);
    this.needle(p, r, needle);
    const near = 1.35 * r;
    const far = near + 16 * this.mm;
    const half = 6 * this.mm;
    for (const [x, y] of [[1, 0], [0, 1], [-1, 0], [0, -1]]) {
      const d = `M${p.x + x * near} ${p.y + y * near}` +
          `L${p.x + x * far + y * half} ${p.y + y * far + x * half}` +
          `L${p.x + x * far - y * half} ${p.y + y * far - x * half}Z`;
      this.twice('path', {d}, 'arrow');
    }
  }

  needle(p, r, needle) {
    const name = `target needle-${needle + 1}`;
    if (needle === 0) this.twice('circle', {cx: p.x, cy: p.y, r}, name);
    else this.twice('path', {d: `M${p.x} ${p.y - 1.3 * r}L${p.x + 1.3 * r} ${p.y}L${p.x} ${p.y + 1.3 * r}L${p.x - 1.3 * r} ${p.y}Z`}, name);
  }

  // One that stays: its mark without arrows.
  stays(place) { this.needle(this.at(place), 9 * this.mm, place.needle); }

  label(p, text, name, size) {
    this.marks.append(make('text', {x: p.x, y: p.y, class: name, 'font-size': size * this.mm}, text));
  }

  // A square with its channel.
  clip(clip, big) {
    const p = this.at(clip);
    const r = (big ? 11 : 8) * this.mm;
    this.marks.append(make('rect', {x: p.x - r, y: p.y - r, width: 2 * r, height: 2 * r, rx: 3 * this.mm, class: `clip ${clip.state || ''}`}));
    this.label(p, clip.channel, 'clip-number', big ? 14 : 11);
  }

  good(place) {
    const p = this.at(place);
    this.marks.append(make('circle', {cx: p.x, cy: p.y, r: 3.2 * this.mm, class: 'was-good'}));
  }

  bad(place, name = 'was-bad', size = 7) {
    const p = this.at(place);
    const r = size * this.mm;
    this.twice('path', {d: `M${p.x - r} ${p.y - r}L${p.x + r} ${p.y + r}M${p.x + r} ${p.y - r}L${p.x - r} ${p.y + r}`}, name);
  }

  suspect(s, number) {
    const path = (s.path || []).map(([x, y]) => this.at({x_mm: x, y_mm: y}));
    if (path.length > 1)
      this.marks.append(make('path', {d: 'M' + path.map((p) => `${p.x} ${p.y}`).join('L'), class: 'stretch'}));
    const p = this.at(s);
    const r = 10 * this.mm;
    this.twice('path', {d: `M${p.x} ${p.y - r}L${p.x + r} ${p.y + 0.8 * r}L${p.x - r} ${p.y + 0.8 * r}Z`}, 'suspect');
    this.label({x: p.x + 1.9 * r, y: p.y - 0.4 * r}, number, 'suspect-number', 16);
  }

  // Neighbours by pin alone where they are of the same part; the pad's own name where it hides least.
  names(target, clear) {
    const {ref} = reference(target.point);
    const others = [];
    for (const point of this.board.points) {
      if (point.id === target.point || !point.named || !on(point, this.side)) continue;
      const p = this.at(point);
      if (!this.holds(p)) continue;
      const own = reference(point.id);
      this.label(p, own.ref === ref && own.pin ? own.pin : point.id, 'name', 15);
      others.push(p);
    }
    const p = this.at(target);
    const away = 1.35 * Math.max(clear, 13 * this.mm) + 34 * this.mm;
    const wide = target.point.length * 7 * this.mm;
    const places = [{x: p.x, y: p.y - away}, {x: p.x, y: p.y + away}, {x: p.x + away + wide, y: p.y}, {x: p.x - away - wide, y: p.y}];
    const room = (q) => this.holds(q, -12 * this.mm)
        ? Math.min(...others.map((o) => Math.hypot((o.x - q.x) * 0.6, o.y - q.y)), 60 * this.mm) : -1;
    const best = places.reduce((a, b) => room(b) > room(a) + this.mm ? b : a);
    this.label(best, target.point, 'name here', 22);
  }
}

// So much around a pad that its neighbours are in it.
export function around(board, touch, turn) {
  let near = 3;
  let second = 5;
  for (const p of board.points) {
    if (p.id === touch.point || !on(p, touch.side)) continue;
    const d = distance(p, touch);
    if (d < 0.001) continue;
    if (d < near) [near, second] = [d, near];
    else if (d < second) second = d;
  }
  const half = Math.min(7, Math.max(2, 2.6 * second));
  const c = seen(touch, touch.side, turn);
  return {x: c.x - half, y: c.y - half, w: 2 * half, h: 2 * half};
}
