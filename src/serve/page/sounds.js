// SPDX-License-Identifier: Apache-2.0
// Sounds made here, and a voice of this machine. Silent until the person has clicked.

let audio = null;
let tone = null;
let on = {contact: true, pass: true, fault: true, wrong: true, hold: true, speech: true};

export const sounding = () => audio !== null;
export function choose(which) { on = {...on, ...which}; }

export function begin() {
  const Context = window.AudioContext || window.webkitAudioContext;
  if (!audio && Context) audio = new Context();
  if (audio) audio.resume();
}

function note(frequency, start, seconds, shape, loud) {
  const t = audio.currentTime + start;
  const source = audio.createOscillator();
  const gain = audio.createGain();
  source.type = shape;
  source.frequency.value = frequency;
  gain.gain.setValueAtTime(0, t);
  gain.gain.linearRampToValueAtTime(loud, t + 0.008);
  gain.gain.setValueAtTime(loud, t + seconds - 0.02);
  gain.gain.linearRampToValueAtTime(0, t + seconds);
  source.connect(gain).connect(audio.destination);
  source.start(t);
  source.stop(t + seconds);
}

// Told apart by rhythm and direction as well as by pitch: one tick, two up, three down, a low pair.
const kNotes = {
  contact: [[880, 0, 0.05, 'sine', 0.2]],
  pass: [[660, 0, 0.09, 'sine', 0.3], [990, 0.09, 0.14, 'sine', 0.3]],
  fault: [[740, 0, 0.16, 'triangle', 0.4], [554, 0.18, 0.16, 'triangle', 0.4], [370, 0.36, 0.3, 'triangle', 0.45]],
  wrong: [[196, 0, 0.14, 'square', 0.12], [196, 0.2, 0.14, 'square', 0.12]],
};

export function play(name) {
  if (!audio || !on[name]) return;
  for (const n of kNotes[name]) note(...n);
}

// While a reading takes longer than usual: keep still.
export function hold(yes) {
  if (!audio) return;
  if (!yes) {
    if (tone) tone.stop();
    tone = null;
  } else if (on.hold && !tone) {
    tone = audio.createOscillator();
    const gain = audio.createGain();
    tone.frequency.value = 330;
    gain.gain.value = 0.06;
    tone.connect(gain).connect(audio.destination);
    tone.start();
  }
}

export function voice() {
  if (!window.speechSynthesis) return null;
  const own = speechSynthesis.getVoices().filter((v) => v.localService);
  return own.find((v) => v.lang.startsWith('en')) || null;
}

export function say(text) {
  if (!audio || !on.speech) return;
  const own = voice();
  if (!own) return;
  speechSynthesis.cancel();
  const words = new SpeechSynthesisUtterance(text);
  words.voice = own;
  words.lang = own.lang;
  words.rate = 1.1;
  speechSynthesis.speak(words);
}
