// The keeper: nothing to be seen. It keeps keys inside panels that have no stage.
import { guard, watchPage } from "./keys.mjs";

function makeKeeper() {
  function render({ el }) {
    el.hidden = true;
    const [unguard, unwatch] = [guard(el), watchPage()];
    return () => {
      unguard();
      unwatch();
    };
  }
  return { render };
}

export default makeKeeper;
