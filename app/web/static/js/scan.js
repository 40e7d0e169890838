// Reading a label's code: live through the camera where the browser gives it (on secure pages),
// everywhere else from a photo. What a code means, the server says; no address is followed here.

import { say } from "./words.js";

const root = document.querySelector("[data-scan]");
const view = root.querySelector("[data-scan-view]");
const video = view.querySelector("video");
const said = root.querySelector("[data-scan-said]");
const meant = root.querySelector("[data-scan-meant]");
const cameraButton = root.querySelector("[data-scan-camera]");
const photo = root.querySelector("[data-scan-photo]");
const BETWEEN_LOOKS_MS = 180; // leaves a small tablet time for the picture itself
const LIVE_SIDE = 800; // pixels of the longer side that are looked at
const PHOTO_SIDES = [1200, 700, 2400]; // a photo is tried at several sizes: sharp, then less noisy
let stream = null;
let reader = null;
let lastText = "";
let isAsking = false;

const tell = (text) => {
  said.textContent = text;
};

// The browser's own reader where it knows these codes, else ours, fetched when first needed.
async function makeReader() {
  if ("BarcodeDetector" in window) {
    const formats = await window.BarcodeDetector.getSupportedFormats().catch(() => []);
    if (formats.includes("qr_code")) {
      const detector = new window.BarcodeDetector({ formats: ["qr_code"] });
      return async (canvas) => (await detector.detect(canvas))[0]?.rawValue ?? "";
    }
  }
  const { decodeQR } = await import(root.dataset.reader);
  return (canvas) => {
    const { width, height } = canvas;
    const { data } = canvas.getContext("2d").getImageData(0, 0, width, height);
    try {
      return decodeQR({ width, height, data });
    } catch {
      return ""; // no code in it, or none that can be read
    }
  };
}

const read = async (canvas) => (await (reader ??= makeReader()))(canvas);

const canvas = document.createElement("canvas");

function draw(source, width, height, longest) {
  const scale = Math.min(1, longest / Math.max(width, height));
  canvas.width = Math.round(width * scale);
  canvas.height = Math.round(height * scale);
  const context = canvas.getContext("2d", { willReadFrequently: true });
  context.drawImage(source, 0, 0, canvas.width, canvas.height);
  return canvas;
}

function propose(links) {
  meant.replaceChildren(
    ...links.map((link) => {
      const item = document.createElement("li");
      const anchor = item.appendChild(document.createElement("a"));
      anchor.href = link.href;
      anchor.appendChild(document.createElement("strong")).textContent = link.text;
      const words = anchor.appendChild(document.createElement("span"));
      words.className = "soft";
      words.textContent = link.words;
      return item;
    }),
  );
  meant.hidden = links.length === 0;
}

async function ask(text) {
  if (isAsking || text === lastText) return;
  isAsking = true;
  tell(say("Read. Looking for the lot…"));
  const asked = new URLSearchParams({ text, for: root.dataset.for });
  try {
    const answer = await (await fetch(`/scan.json?${asked}`)).json();
    lastText = text; // a code that leads nowhere is asked about once
    if (answer.href) window.location.assign(answer.href);
    tell(answer.href ? say("Found. Opening its page.") : answer.said);
    propose(answer.meant);
  } catch {
    tell(say("The code was read, but the kitchen’s server does not answer. Try again in a moment."));
  } finally {
    isAsking = false;
  }
}

async function look() {
  if (!stream) return;
  if (video.videoWidth && !isAsking) {
    const text = await read(draw(video, video.videoWidth, video.videoHeight, LIVE_SIDE));
    if (text) await ask(text);
  }
  setTimeout(look, BETWEEN_LOOKS_MS);
}

const REASONS = {
  NotAllowedError: say("The browser was not allowed to use the camera. Take a photo instead, or allow it and try again."),
  NotFoundError: say("No camera was found. Take a photo instead, or type the code."),
};

async function start() {
  if (stream) return;
  try {
    const video_ = { facingMode: "environment", width: { ideal: 1280 } };
    stream = await navigator.mediaDevices.getUserMedia({ video: video_, audio: false });
  } catch (error) {
    cameraButton.hidden = false;
    tell(REASONS[error.name] ?? say("The camera does not answer. Take a photo instead, or type the code."));
    return;
  }
  video.srcObject = stream;
  view.hidden = false;
  cameraButton.hidden = true;
  lastText = "";
  await video.play().catch(() => {});
  tell(say("Hold the label’s code between the corners."));
  look();
}

function stop() {
  for (const track of stream?.getTracks() ?? []) track.stop();
  stream = null;
  view.hidden = true;
}

async function readPhoto(file) {
  tell(say("Looking at the photo…"));
  propose([]);
  lastText = "";
  let picture;
  try {
    picture = await createImageBitmap(file);
  } catch {
    return tell(say("This is no picture that the browser can open."));
  }
  for (const side of PHOTO_SIDES) {
    const text = await read(draw(picture, picture.width, picture.height, side));
    if (text) return ask(text);
  }
  tell(say("No code found in the picture. Fill the picture with the code and try again, or type the code."));
}

const hasCamera = window.isSecureContext && Boolean(navigator.mediaDevices?.getUserMedia);
photo.hidden = false;
photo.querySelector("input").addEventListener("change", async (event) => {
  const [file] = event.target.files;
  if (file) await readPhoto(file);
  event.target.value = ""; // the same photo again is looked at again
});
if (hasCamera) {
  cameraButton.addEventListener("click", start);
  document.addEventListener("visibilitychange", () => (document.hidden ? stop() : start()));
  window.addEventListener("pagehide", stop);
  tell(say("Starting the camera…"));
  start();
} else {
  tell(say("Take a photo of the code: this page is not secure, so the browser gives no moving picture."));
}
