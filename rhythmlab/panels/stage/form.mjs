// A form by itself, with the look of a card: rows of fields that Python holds, and what it says of them.
import { element } from "./parts.mjs";
import { drawRow, referred } from "./fields.mjs";
import { guard, watchPage } from "./keys.mjs";
import { watchOne } from "./wake.mjs";

function makeForm() {
  function render({ model, el }) {
    el.classList.add("rl-theme", "rl-card", "rl-form");
    const box = element("div", "rl-more", el);
    const ends = [guard(el), watchPage()];
    const asleep = element("p", "rl-asleep", el, { role: "status" });
    let over = false;
    referred(model.widget_manager, model.get("parts")).then(({ rows }) => {
      if (over) return;
      for (const row of rows) ends.push(...drawRow(row, box, []));
      const first = rows.flatMap(({ fields = [] }) => fields)[0];
      if (first) ends.push(watchOne(first, (line) => (asleep.textContent = line)));
    });
    return () => {
      over = true;
      ends.forEach((end) => end());
    };
  }
  return { render };
}

export default makeForm;
