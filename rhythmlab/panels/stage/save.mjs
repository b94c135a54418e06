// Saving what a panel shows: its form is asked of Python when it is first opened.
import { drawField, noteLine, referred } from "./fields.mjs";

/** Put saving into a drawer. Returns {update(), close()}. */
export function makeSave(drawer, model) {
  const part = drawer.add("Save", () => model.send({ pressed: "save" }));
  let [open, drawn, over] = [[], "", false];
  const close = () => open.splice(0).forEach((end) => end());
  const update = async () => {
    part.hide(!model.get("saves"));
    const { save = null } = model.get("parts") || {};
    const now = JSON.stringify(save);
    if (!save || now === drawn) return;
    drawn = now;
    const { fields, note } = await referred(model.widget_manager, save);
    if (over || now !== drawn) return;
    close();
    part.body.replaceChildren();
    const line = document.createElement("div");
    line.className = "rl-line";
    part.body.append(line);
    open.push(...fields.map((held) => drawField(held, line).close), noteLine(note, part.body));
  };
  return { update, close: () => { over = true; close(); } };
}
