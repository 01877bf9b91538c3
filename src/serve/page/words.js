// SPDX-License-Identifier: Apache-2.0
// What people read and hear: where a pad lies, what was read, why it is asked.

const kNear = 15;  // mm

export const radians = (degrees) => degrees * Math.PI / 180;

// From the artwork's mm to the picture's, y down: mirrored from below, then turned.
export function seen(at, side, turn) {
  const x = side === 'bottom' ? -at.x_mm : at.x_mm;
  const y = -at.y_mm;
  const c = Math.cos(radians(turn));
  const s = Math.sin(radians(turn));
  return {x: c * x - s * y, y: s * x + c * y};
}

// "2.54 mm to the left", as the picture lies.
export function offset(from, to, side, turn) {
  const a = seen(from, side, turn);
  const b = seen(to, side, turn);
  const dx = b.x - a.x;
  const dy = b.y - a.y;
  const words = [];
  const slight = Math.max(Math.abs(dx), Math.abs(dy)) * 0.15;
  if (Math.abs(dx) > Math.max(slight, 0.05))
    words.push(`${Math.abs(dx).toFixed(2)} mm to the ${dx < 0 ? 'left' : 'right'}`);
  if (Math.abs(dy) > Math.max(slight, 0.05))
    words.push(`${Math.abs(dy).toFixed(2)} mm ${dy < 0 ? 'up' : 'down'}`);
  return words.join(' and ') || 'at the same place';
}

export const on = (point, side) => point.side === 'both' || point.side === side;
export const distance = (a, b) => Math.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm);

export function nearestNamed(points, touch) {
  let best = null;
  let near = kNear;
  for (const p of points) {
    if (!p.named || p.id === touch.point || !on(p, touch.side)) continue;
    const d = distance(p, touch);
    if (d > 0.001 && d < near) {
      near = d;
      best = p;
    }
  }
  return best;
}

// The program's words hold for a board that lies upright; turned, left is elsewhere.
export function where(points, touch, turn) {
  if (turn % 360 === 0) return touch.where || '';
  const near = nearestNamed(points, touch);
  return near ? `from ${near.id}: ${offset(near, touch, touch.side, turn)}` : touch.where || '';
}

export function reference(id) {
  const plain = id.replace(/[@#].*$/, '');
  const dot = plain.lastIndexOf('.');
  return dot > 0 ? {ref: plain.slice(0, dot), pin: plain.slice(dot + 1)} : {ref: plain, pin: ''};
}

// For the ear: short, and beside the last where that is enough.
export function spoken(points, touch, last, turn) {
  const {ref, pin} = reference(touch.point);
  const again = touch.again ? 'again ' : '';
  if (touch.point.startsWith('VIA@')) return `${again}hole, ${where(points, touch, turn)}`;
  if (last && last.side === touch.side && reference(last.point).ref === ref) {
    const step = Math.abs(Number(pin) - Number(reference(last.point).pin));
    if (step === 1 && distance(last, touch) < 3) {
      const way = offset(last, touch, touch.side, turn).replace(/^[\d.]+ mm (to the )?/, '');
      if (!way.includes(' and ')) return `${again}${ref}, next pin ${/left|right/.test(way) ? 'to the ' : ''}${way}`;
    }
  }
  return `${again}${ref}${pin ? ', pin ' + pin : ''}, ${touch.side} side`;
}

export function ohms(value) {
  if (value === null || value === undefined) return '';
  if (value >= 1e30) return 'over range';
  for (const [scale, unit] of [[1e9, 'GΩ'], [1e6, 'MΩ'], [1e3, 'kΩ'], [1, 'Ω']])
    if (value >= scale) return `${(value / scale).toPrecision(3)} ${unit}`;
  return `${(value * 1e3).toPrecision(3)} mΩ`;
}

export const count = (n, one, more = one + 's') => `${n} ${n === 1 ? one : more}`;

export function reading(r) {
  const parts = [];
  if (r.ohm !== null && r.ohm !== undefined)
    parts.push(ohms(r.ohm) + (r.predicted_ohm ? ` (copper alone ${ohms(r.predicted_ohm)})` : ''));
  if (r.isolation === 'good' && r.against > 0)
    parts.push(`isolated from ${count(r.against, 'net')}`);
  if (r.isolation === 'conducts') parts.push('conducts to another net');
  return parts.join(', ');
}

const kWhy = {
  'straddle': 'A bridge was heard from one place. Is it there from here as well?',
  'fingers-off': 'A leak was heard. Fingers off the copper, please.',
  'prove-clip': 'This proves the clip of this net.',
  'after-clip-lost': 'A clip had come off: this net is read again.',
  'second-landing': 'Once more, to be sure.',
  'mended': 'It lies near what was mended.',
  'no-contact': 'Nothing was felt here. A little beside, please.',
  'beside': 'A little beside the last place, please.',
  'bounced': 'It was lifted before it was read.',
};
export const why = (text) => text ? kWhy[text] || text : '';
const kNeedles = ['first', 'second'];
// Why it is asked, and what the other needle does.
export function meanwhile(touch) {
  const parts = [why(touch.why)];
  if (touch.beside) parts.push(`The ${kNeedles[touch.beside.needle]} needle stays on ${touch.beside.point}.`);
  if (touch.noticed === false) parts.push('Hold it there: the other needle, which comes next, tells that it stands.');
  return parts.filter((p) => p).join(' ');
}

const kKinds = {'open': 'Open', 'bridge': 'Bridge', 'leakage': 'Leakage', 'high-resistance': 'High resistance'};
export const kind = (k) => kKinds[k] || k;

const kVerdicts = {
  pass: 'Pass: everything expected was read, within its limits.',
  fail: 'Fail: faults were found.',
  incomplete: 'Incomplete: something stays untested or doubtful.',
};
export const verdict = (v) => kVerdicts[v] || v;
export const minutes = ([low, high]) => high < 1 ? 'less than a minute'
    : Math.ceil(low) === Math.ceil(high) ? `about ${count(Math.ceil(high), 'minute')}`
    : `${Math.ceil(low)} to ${Math.ceil(high)} minutes`;
// A hole without a name of its own is told from its nearest named pad.
export function clipPlace(points, c, side, turn) {
  const held = c.side === 'both' ? 'through the hole or over the rim' : `${c.side} side`;
  const from = c.side === 'both' ? side : c.side;
  const near = /^(VIA)?@/.test(c.point) ? nearestNamed(points, {...c, side: from}) : null;
  return near ? `${held}; from ${near.id}: ${offset(near, c, from, turn)}` : held;
}
