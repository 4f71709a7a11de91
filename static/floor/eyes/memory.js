/* The camera's last three seconds, in this page's memory and nowhere else. Nothing here is stored or
   sent; all of it is gone a minute after the camera was stopped, when the page is hidden, and when
   whoever asked for it says so. */

const SECONDS = 3;
// Frames a second, and the longer side of each in pixels: three seconds are some 60 MB.
const RATE = 10;
const LONG_SIDE = 960;
// In ms, from the stop on; a camera that nobody stops goes as soon.
export const KEPT = 60_000;

export class PictureMemory {
  #stream = null;
  #video = null;
  #filming = null;
  #timer = null;
  #canvases = new Set();
  #forgotten = false;

  /* "whenGone" is called once, when all is gone. */
  constructor(whenGone) {
    this.frames = [];
    this.whenGone = whenGone;
    this.goneAt = null;
    this.hide = ({ type }) => (type === "pagehide" || document.hidden) && this.forget();
    document.addEventListener("visibilitychange", this.hide);
    addEventListener("pagehide", this.hide);
  }

  /* Rejects if there is no camera, or no leave to use it. */
  async open(video) {
    const wanted = { facingMode: { ideal: "environment" }, width: { ideal: 1280 }, height: { ideal: 960 } };
    const stream = await navigator.mediaDevices.getUserMedia({ audio: false, video: wanted });
    if (this.#forgotten) return stopTracks(stream);
    this.#stream = stream;
    this.#video = video;
    video.srcObject = stream;
    await video.play();
    this.#filming = setInterval(() => this.#keep(video), 1000 / RATE);
    this.#goneIn(KEPT);
  }

  async #keep(video) {
    const { videoWidth: width, videoHeight: height } = video;
    if (!width || !this.#stream) return;
    const share = Math.min(1, LONG_SIDE / Math.max(width, height));
    const size = { resizeWidth: Math.round(width * share), resizeHeight: Math.round(height * share) };
    const frame = await createImageBitmap(video, size);
    // Stopped meanwhile.
    if (!this.#stream) return frame.close();
    this.frames.push(frame);
    while (this.frames.length > SECONDS * RATE) this.frames.shift().close();
  }

  /* Nothing more is filmed. */
  stop() {
    this.#stopCamera();
    this.#goneIn(KEPT);
  }

  keepOnly(frame) {
    for (const other of this.frames) if (other !== frame) other.close();
    this.frames = [frame];
  }

  /* Draw a part of a frame; what it is drawn on is wiped with the frames. */
  paint(canvas, frame, part, width, height) {
    this.#canvases.add(canvas);
    canvas.width = width;
    canvas.height = height;
    canvas.getContext("2d").drawImage(frame, ...part, 0, 0, width, height);
  }

  forget() {
    if (this.#forgotten) return;
    this.#forgotten = true;
    this.goneAt = null;
    clearTimeout(this.#timer);
    this.#stopCamera();
    for (const frame of this.frames) frame.close();
    this.frames = [];
    for (const canvas of this.#canvases) canvas.width = canvas.height = 0;
    this.#canvases.clear();
    document.removeEventListener("visibilitychange", this.hide);
    removeEventListener("pagehide", this.hide);
    this.whenGone();
  }

  #goneIn(milliseconds) {
    clearTimeout(this.#timer);
    this.goneAt = performance.now() + milliseconds;
    this.#timer = setTimeout(() => this.forget(), milliseconds);
  }

  #stopCamera() {
    clearInterval(this.#filming);
    if (this.#stream) stopTracks(this.#stream);
    this.#stream = null;
    if (this.#video) this.#video.srcObject = null;
    this.#video = null;
  }
}

function stopTracks(stream) {
  for (const track of stream.getTracks()) track.stop();
}
