// The timeline: where in the music we are at which second, and back. Positions are counted in turns: one turn
// is one cycle, or one round of the slice that is looped; 2.25 is a quarter into the third turn.
// The time of a stroke is always reckoned from the last change of tempo, never by adding rounded steps.

/** A timeline whose turn 0 begins at `t0` and that takes `turnS` seconds a turn. */
export function makeTimeline(t0, turnS) {
  let anchors = [{ pos: 0, t: t0, turnS }];
  const atPos = (pos) => anchors.findLast((anchor) => anchor.pos <= pos) || anchors[0];
  const atTime = (t) => anchors.findLast((anchor) => anchor.t <= t) || anchors[0];
  const timeOf = (pos) => {
    const anchor = atPos(pos);
    return anchor.t + (pos - anchor.pos) * anchor.turnS;
  };
  const posAt = (t) => {
    const anchor = atTime(t);
    return anchor.pos + (t - anchor.t) / anchor.turnS;
  };
  /** From position `pos` on a turn takes `turnS`; the place in the music stays what it is. */
  const change = (pos, newTurnS) => {
    const t = timeOf(pos);
    const before = anchors.filter((anchor) => anchor.pos < pos);
    // before the first anchor time runs on at its speed, so a first anchor that goes takes its place
    anchors = [...before, { pos, t, turnS: newTurnS }];
  };
  return { timeOf, posAt, change, turnSAt: (pos) => atPos(pos).turnS };
}

/** Seconds of one turn at a tempo: `speed` is a share of the written tempo, 1 as written. */
export function turnSeconds(plan, slice, speed) {
  return (plan.cycle_s * (slice.stop - slice.start)) / plan.ticks / speed;
}
