/** How an outcome is told: by a tone, by the phone's shaking, and always in words. */

import { announce } from "../dom.js";

/** By kind: tones as [hertz, seconds], and how the phone shakes, in milliseconds. */
const KINDS = {
  good: { tones: [[880, 0.09]], shakes: [40] },
  ask: { tones: [[440, 0.12], [440, 0.12]], shakes: [60, 60, 60] },
  bad: { tones: [[220, 0.35]], shakes: [250] },
};

let sound = null;

/** @param {"good" | "ask" | "bad"} kind @param {string} text */
export function signal(kind, text) {
  const { tones, shakes } = KINDS[kind];
  announce(text);
  navigator.vibrate?.(shakes);
  play(tones);
}

/** A browser plays nothing before its page was touched: then the words have to do. */
function play(tones) {
  sound ??= globalThis.AudioContext ? new AudioContext() : null;
  if (!sound) return;
  sound.resume?.();
  let at = sound.currentTime;
  for (const [pitch, seconds] of tones) {
    const [tone, loudness] = [sound.createOscillator(), sound.createGain()];
    tone.frequency.value = pitch;
    loudness.gain.setValueAtTime(0.15, at);
    loudness.gain.exponentialRampToValueAtTime(0.001, at + seconds);
    tone.connect(loudness).connect(sound.destination);
    tone.start(at);
    tone.stop(at + seconds);
    at += seconds + 0.05;
  }
}
