/* One run of the hold clock: who holds, when it started, who has stopped. Pure: the clocks are
   handed in. "at" is the monotonic stamp of a tap; "now" and "wall" are the monotonic and the wall
   clock read at one and the same moment. All in milliseconds. */

// The wall clock and the monotonic clock may differ by so much over a hold.
const MOST_DRIFT = 100;

export class HoldRun {
  // Monotonic stamp of the start, and both clocks at one moment then; null until then.
  #started = null;
  #reloaded = false;
  // By child: {time, doubt: null | "clock" | "reload", kept, out}. "kept": the coach was asked and
  // keeps it. "out": not to be logged.
  #stops = new Map();

  constructor({ meeting, author, drill, surface, most, line, chosen }) {
    Object.assign(this, { meeting, author, drill, surface, most, line });
    this.chosen = new Set(chosen);
  }

  /* What must outlive the page. The start is in wall clock time: the monotonic clock begins again
     with each page. */
  toStored() {
    const { meeting, author, drill, surface, most, line } = this;
    const started = this.#started.wall - (this.#started.now - this.#started.at);
    return {
      meeting,
      author,
      drill,
      surface,
      most,
      line,
      chosen: [...this.chosen],
      started,
      stops: [...this.#stops],
    };
  }

  /* The stored run, on a new page. */
  static restore(stored, now, wall) {
    const run = new HoldRun(stored);
    run.#started = { at: now - Math.max(0, wall - stored.started), now, wall };
    run.#reloaded = true;
    run.#stops = new Map(stored.stops);
    return run;
  }

  /* Seconds to the tenth, rounded down. */
  static tenthsOf(milliseconds) {
    return Math.floor(milliseconds / 100 + 1e-6) / 10;
  }

  get phase() {
    if (this.#started === null) return "ready";
    return this.#stops.size < this.chosen.size ? "running" : "review";
  }

  start(at, now, wall) {
    this.#started = { at, now, wall };
  }

  /* How long it has run, at most the drill's most. */
  elapsed(at) {
    return Math.min(this.most, Math.max(0, at - this.#started.at));
  }

  /* A first tap stops a child, a second one takes that back. */
  tap(id, at, now, wall) {
    if (this.#stops.has(id)) this.#stops.delete(id);
    else this.#stop(id, at, now, wall);
  }

  stopAll(at, now, wall) {
    for (const id of this.chosen) if (!this.#stops.has(id)) this.#stop(id, at, now, wall);
  }

  #stop(id, at, now, wall) {
    const { now: thenNow, wall: thenWall } = this.#started;
    const clocksAgree = Math.abs(wall - thenWall - (now - thenNow)) <= MOST_DRIFT;
    const doubt = this.#reloaded ? "reload" : clocksAgree ? null : "clock";
    this.#stops.set(id, { time: this.elapsed(at), doubt, kept: false, out: false });
  }

  takeBack(id) {
    this.#stops.delete(id);
  }

  timeOf(id) {
    return this.#stops.get(id)?.time ?? null;
  }

  add(id, milliseconds) {
    const stop = this.#stops.get(id);
    stop.time = Math.min(this.most, Math.max(0, stop.time + milliseconds));
  }

  setOut(id, out) {
    this.#stops.get(id).out = out;
  }

  isOut(id) {
    return this.#stops.get(id)?.out ?? false;
  }

  /* Why a time is in doubt and has not been settled, or null. */
  doubtOf(id) {
    const stop = this.#stops.get(id);
    return stop && !stop.kept ? stop.doubt : null;
  }

  doubtful() {
    return [...this.chosen].filter((id) => this.doubtOf(id) !== null && !this.isOut(id));
  }

  settleDoubt(id, keep) {
    const stop = this.#stops.get(id);
    stop.kept = keep;
    stop.out = !keep;
  }

  /* [[child, milliseconds], ...] in the order of the line. */
  toLog() {
    return this.line.filter((id) => this.#stops.has(id) && !this.isOut(id)).map((id) => [id, this.timeOf(id)]);
  }
}
