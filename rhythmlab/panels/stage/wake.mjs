// A page reopened without its kernel still shows its panels; say how to wake the controls.

export const ASLEEP = "Run the page to wake the controls: in the menu, Run, then Run All Cells.";

/** Watch whether the kernel answers a widget; `tell` gets "" or the line to show. Returns how to stop watching. */
export function watchOne(real, tell) {
  const look = () => tell(real.comm_live === false ? ASLEEP : "");
  real.on("comm_live_update", look);
  look();
  return () => real.off("comm_live_update", look);
}

/** The same for the widget of a view's model, which that names. */
export function watch(model, tell) {
  let rest = () => {};
  let over = false;
  const found = (one) => {
    if (!over) rest = watchOne(one, tell);
  };
  const manager = model.widget_manager;
  if (manager && typeof manager.get_model === "function" && model.get("me")) {
    Promise.resolve(manager.get_model(model.get("me"))).then(found, () => tell(""));
  }
  return () => {
    over = true;
    rest();
  };
}

/** Modules whose models hear custom messages by their views alone. */
const PLAIN_MODELS = new Set(["@jupyter-widgets/base", "@jupyter-widgets/controls"]);

/**
 * Let go of views that are closed, with all their elements. The widget manager keeps them for good otherwise, where a
 * cell was run again: each model holds its last view until it next changes, views of layouts and styles are never
 * closed, and each view leaves behind how it hears messages.
 */
export async function letViewsGo(manager) {
  for (const coming of Object.values((manager && manager._models) || {})) {
    try {
      await closeViews(await coming);
    } catch {
      continue; // a model or a view that never came has nothing to let go
    }
  }
}

async function closeViews(model) {
  for (const view of await Promise.all(Object.values(model.views || {}))) {
    const parent = view && view.options && view.options.parent;
    if (parent && parent.luminoWidget && parent.luminoWidget.isDisposed) view.remove();
  }
  if (!model.views || Object.keys(model.views).length > 0) return;
  model.state_change = Promise.resolve(model.state_change).then(() => {});
  const heard = model._events && model._events["msg:custom"];
  const ours = PLAIN_MODELS.has(model.get("_model_module")) || model.get("me") === model.model_id;
  if (heard && ours) model._events["msg:custom"] = heard.filter((one) => one.context);
}
