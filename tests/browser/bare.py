"""A bare page with one stage on a model of its own: no notebook, no kernel, so that a test takes a second."""

import base64
import json
from collections.abc import Callable

from playwright.sync_api import Page

from rhythmlab.panels.stage.stage import Stage

#: What a bare page has no use for: samples go in another way, and fields need the models of a notebook.
LEFT_OUT = ("voices", "parts", "layout", "tabbable", "tooltip", "comm")
_MODEL = """
(state, voices) => {
  const listeners = {};
  const bytes = (text) => new DataView(Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer);
  state.voices = Object.fromEntries(Object.entries(voices).map(([name, text]) => [name, bytes(text)]));
  const model = {
    saved: [],
    sent: [],
    get: (name) => state[name],
    set: (name, value) => {
      if (JSON.stringify(state[name]) === JSON.stringify(value)) return;
      state[name] = value;
      (listeners[`change:${name}`] || []).slice().forEach((call) => call());
    },
    save_changes: () => {
      model.saved.push(JSON.parse(JSON.stringify({ ...state, voices: null, pictures: null })));
    },
    send: (content) => model.sent.push(JSON.parse(JSON.stringify(content))),
    on: (name, call) => (listeners[name] = [...(listeners[name] || []), call]),
    off: (name, call) => (listeners[name] = (listeners[name] || []).filter((one) => one !== call)),
  };
  return model;
}
"""


def open_stage(page: Page, stage: Stage, views: int = 1, before: str = "") -> None:
    """Put a stage on an empty page, as the notebook would; `before` is script run before it.

    In the page ``addStage()`` puts another one of the same there, as a cell that is run again does.
    """
    state = {
        name: getattr(stage, name)
        for name in stage.trait_names(sync=True)
        if not name.startswith("_") and name not in LEFT_OUT
    }
    voices = {name: base64.b64encode(samples).decode() for name, samples in stage.voices.items()}
    page.route(
        "**/bare.html", lambda route: route.fulfill(body="<!doctype html><body>", content_type="text/html")
    )
    page.goto("http://127.0.0.1/bare.html")
    page.add_style_tag(content=stage._css)
    page.evaluate(
        f"""async ([code, state, voices, views]) => {{
          {before}
          window.addStage = async () => {{
            const model = ({_MODEL})({{ ...state }}, voices);
            const url = URL.createObjectURL(new Blob([code], {{ type: "text/javascript" }}));
            const made = (await import(url)).default();
            const one = {{ model, closers: [], els: [], leave: made.initialize({{ model }}) }};
            one.view = () => {{
              const el = document.createElement("div");
              document.body.append(el);
              one.els.push(el);
              one.closers.push(made.render({{ model, el }}));
            }};
            one.view();
            one.engine = one.els[0].rlEngine;
            one.close = () => {{
              one.closers.splice(0).forEach((close) => close());
              one.els.splice(0).forEach((el) => el.remove());
            }};
            return one;
          }};
          const first = await addStage();
          for (let i = 1; i < views; i += 1) first.view();
          Object.assign(window, {{ first, ...first }});
        }}""",
        [stage._esm, json.loads(json.dumps(state)), voices, views],
    )


def open_wall(page: Page, stage: Stage) -> None:
    """Put the stage of a wall into a wall of its own on a bare page."""
    open_stage(page, stage)
    page.evaluate(
        """() => {
          const wall = document.createElement("div");
          wall.className = "rl-wall";
          const stage = document.querySelector(".rl-stage");
          stage.replaceWith(wall);
          wall.append(stage);
        }"""
    )


def wait_until(page: Page, condition: str, timeout: float = 10) -> None:
    """Wait until a condition holds in the page."""
    page.wait_for_function(condition, timeout=timeout * 1000)


def drawn(page: Page) -> None:
    """Wait until the page has done what it had to do, and has drawn it."""
    page.evaluate(
        """new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(
          () => requestIdleCallback(done, { timeout: 2000 })
        )))"""
    )


def set_plan(page: Page, plan: dict) -> None:
    """Change the plan, as Python would."""
    page.evaluate("(plan) => model.set('plan', plan)", plan)


Opened = Callable[..., None]
