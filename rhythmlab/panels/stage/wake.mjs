// A page reopened without its kernel still shows its panels; say how to wake the controls.

export const ASLEEP = "Run the page to wake the controls: in the menu, Run, then Run All Cells.";

/** Watch whether the kernel answers; `tell` gets "" or the line to show. Returns how to stop watching. */
export function watch(model, tell) {
  let real = null;
  const look = () => tell(real && real.comm_live === false ? ASLEEP : "");
  const found = (one) => {
    real = one;
    real.on("comm_live_update", look);
    look();
  };
  const manager = model.widget_manager;
  if (manager && typeof manager.get_model === "function" && model.get("me")) {
    Promise.resolve(manager.get_model(model.get("me"))).then(found, () => tell(""));
  }
  return () => real && real.off("comm_live_update", look);
}
