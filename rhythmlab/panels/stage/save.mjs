// Saving what a panel shows: its form is asked of Python when it is first opened; copying needs the browser alone.
import { drawField, noteLine, referred, refusalLine } from "./fields.mjs";
import { button, element } from "./parts.mjs";
import { drawBar } from "./bar.mjs";
import { copyPicture } from "./copy.mjs";

/** Put saving into the drawer of the stage in `el`. Returns {update(), close()}. */
export function makeSave(drawer, model, el) {
  const part = drawer.add("Save", () => model.send({ pressed: "save" }));
  const copying = element("div", "rl-line", part.body);
  const copy = button("Copy picture", copying, async () => {
    told.textContent = "";
    told.textContent = await copyPicture(el, (model.get("head") || {}).title || "");
  });
  copy.title = "the picture as it stands here, to be pasted elsewhere";
  const told = element("span", "rl-note", copying, { role: "status" });
  const form = element("div", "", part.body);
  let [open, drawn, over] = [[], "", false];
  const close = () => open.splice(0).forEach((end) => end());
  const update = async () => {
    part.hide(!model.get("saves"));
    const { save = null } = model.get("parts") || {};
    const now = JSON.stringify(save);
    if (!save || now === drawn) return;
    drawn = now;
    const { fields, note, bar, line: refused } = await referred(model.widget_manager, save);
    if (over || now !== drawn) return;
    close();
    form.replaceChildren();
    const line = element("div", "rl-line", form);
    const asked = fields.map((held) => drawField(held, line));
    open.push(...asked.map(({ close }) => close), refusalLine(refused, form, asked), noteLine(note, form, true), drawBar(bar, form));
  };
  return { update, close: () => { over = true; close(); } };
}
