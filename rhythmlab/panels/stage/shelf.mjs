// Parts of a drawer that Python names: rows of fields of its own, each with its note and its line.
import { drawRow, referred } from "./fields.mjs";

/** Put what Python has for the shelf into a drawer, one part for each name. Returns {update(), close()}. */
export function makeShelf(drawer, model) {
  const made = new Map(); // a part of the drawer, by its name
  let [open, drawn, over] = [[], "", false];
  const close = () => open.splice(0).forEach((end) => end());
  const update = async () => {
    const { shelf = [] } = model.get("parts") || {};
    const now = JSON.stringify(shelf);
    if (now === drawn) return;
    drawn = now;
    const all = await referred(model.widget_manager, shelf);
    if (over || now !== drawn) return;
    close();
    for (const { name, rows } of all) {
      if (!made.has(name)) made.set(name, drawer.add(name));
      const { body } = made.get(name);
      body.classList.add("rl-shelf");
      body.replaceChildren();
      for (const row of rows) open.push(...drawRow(row, body, []));
    }
  };
  return { update, close: () => { over = true; close(); } };
}
