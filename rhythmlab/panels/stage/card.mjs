// The sound card: one for the whole page, lent to the panel that sounds. It rests while nothing sounds, and is closed
// once no panel that used it is on the page. Each panel's script is a module of its own, so it lies where all find it.

const CARDS = "rhythmlab-cards";
/** How long a card without a panel waits to be closed: a cell that is run again finds it. */
export const GRACE_MS = 1000;
/** How long a card runs on in silence: the next Start is at once, and an idle page costs nothing. */
export const REST_MS = 5000;

/** A hold on the page's sound card. `place` is shared by the page; `later(ms, call)` returns how to put it off. */
export function cardHolder(place, makeContext, later) {
  const me = {};
  let card = null;
  const cards = () => (place[CARDS] ??= new Map());
  const quietly = (made) => Promise.resolve(made).catch(() => {}); // a card that is closed already
  const open = (one) => one && one.context.state !== "closed";
  const drop = (one) => {
    if (cards().get(one.rate) === one) cards().delete(one.rate);
    if (open(one)) quietly(one.context.close());
  };
  const hold = (one) => {
    one.unclose();
    one.holders.add(me);
    card = one;
  };
  /** Give it back; it is closed if nobody else has it. */
  const give = () => {
    if (!card) return;
    const one = card;
    card = null;
    one.busy.delete(me);
    one.holders.delete(me);
    one.unclose();
    if (one.holders.size === 0) one.unclose = later(GRACE_MS, () => one.holders.size === 0 && drop(one));
  };
  /** The card at a rate: the page's own, or a new one where there is none. */
  const take = (rate) => {
    if (open(card) && card.rate === rate) return card;
    give();
    let one = cards().get(rate);
    if (!open(one)) {
      const none = () => {};
      one = { rate, context: makeContext(rate), buffers: new Map(), holders: new Set(), busy: new Set(), unclose: none, unrest: none };
      cards().set(rate, one);
    }
    hold(one);
    return one;
  };
  /** Take over a card that is about to be closed: this is the cell that was run again. */
  const inherit = () => {
    if (card) return;
    const left = [...cards().values()].find((one) => open(one) && one.holders.size === 0);
    if (left) hold(left);
  };
  /** Say whether we sound: a card that nobody sounds on rests after a while. */
  const sound = (on) => {
    if (!card) return;
    const one = card;
    one.unrest();
    if (on) one.busy.add(me);
    else one.busy.delete(me);
    if (one.busy.size) return;
    one.unrest = later(REST_MS, () => one.busy.size === 0 && open(one) && quietly(one.context.suspend()));
  };
  return { take, give, inherit, sound };
}
