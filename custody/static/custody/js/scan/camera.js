/** The camera: pictures from it are decoded several times a second, until it is closed. */

import { decode, prepare } from "./decoder.js";

const PAUSE = 90;
const WIDEST = 1024;
const SAME_AGAIN = 2000;
/** How long an unused camera stays on, so that the next thing to scan needs no new start. */
const KEEP = 4000;

let stream = null;
let watchers = 0;

/** Whether this browser has anything to ask a camera of. */
export function hasCamera() {
  return Boolean(navigator.mediaDevices?.getUserMedia);
}

/**
 * Show the camera in `video` and hear of every code that is seen: `onCodes(texts)`, all of one picture together. What is seen again
 * within two seconds is passed over. Rejects where the camera may not be used, or is not there.
 * @returns {Promise<{stop: () => void, torch: null | ((on: boolean) => Promise<void>)}>}
 */
export async function watch(video, onCodes) {
  watchers += 1;
  let running = true;
  const stop = () => {
    if (!running) return;
    running = false;
    watchers -= 1;
    video.srcObject = null;
    setTimeout(() => { if (!watchers) close(); }, KEEP);
  };
  let opened;
  try {
    [opened] = await Promise.all([open(), prepare()]);
    video.srcObject = opened;
    await video.play();
  } catch (fault) {
    stop();
    throw fault;
  }
  const seen = new Map();
  (async () => {
    while (running) {
      const texts = document.hidden ? [] : await look(video).catch(() => []);
      const fresh = texts.filter((text) => Date.now() - (seen.get(text) ?? 0) > SAME_AGAIN);
      for (const text of texts) seen.set(text, Date.now());
      if (running && fresh.length) onCodes(fresh);
      await new Promise((resolve) => { setTimeout(resolve, PAUSE); });
    }
  })();
  return { stop, torch: torchOf(opened) };
}

async function open() {
  if (!stream?.active) {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: { ideal: "environment" }, width: { ideal: 1280 } } });
  }
  return stream;
}

function close() {
  for (const track of stream?.getTracks() ?? []) track.stop();
  stream = null;
}

/** The light beside the lens, where the device has one that a page may switch. */
function torchOf(opened) {
  const [track] = opened.getVideoTracks();
  if (!track.getCapabilities?.().torch) return null;
  return (on) => track.applyConstraints({ advanced: [{ torch: on }] });
}

async function look(video) {
  if (!video.videoWidth) return [];
  const scale = Math.min(1, WIDEST / video.videoWidth);
  const [width, height] = [Math.round(video.videoWidth * scale), Math.round(video.videoHeight * scale)];
  const canvas = new OffscreenCanvas(width, height);
  const drawing = canvas.getContext("2d", { willReadFrequently: true });
  drawing.drawImage(video, 0, 0, width, height);
  return decode(drawing.getImageData(0, 0, width, height));
}
