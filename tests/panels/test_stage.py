"""The browser widget, as far as Python sees it: its settings, its style, what is kept in step."""

import re

import pytest

from rhythmlab.draw import palette
from rhythmlab.panels.stage.stage import Stage


@pytest.mark.parametrize("name", ["bpm", "picture", "homes", "slid", "me", "_esm", "layuot"])
def test_an_unknown_setting_is_refused_by_name(name):
    """A widget would take it in silence: the message names it, its value, and what there is."""
    with pytest.raises(
        ValueError, match=f"^Stage has no setting {name}=72; it has pictures, home, bpm_range, notice"
    ):
        Stage(**{name: 72})


def test_its_settings_are_kept_in_step_with_the_browser():
    """Pictures, home, ends of the slide, what was slid, the notice and its own id go both ways."""
    stage = Stage(home=1, notice="Hello.", bpm_range=[20.0, 300.0])
    assert (stage.home, stage.notice, stage.bpm_range, stage.pictures) == (1, "Hello.", [20.0, 300.0], [])
    synced = {"pictures", "home", "bpm_range", "slid", "notice", "me"}
    assert synced <= set(stage.trait_names(sync=True))
    assert stage.me == stage.model_id
    assert (Stage().home, Stage().notice, Stage().bpm_range, Stage().slid) == (0, "", [], {})


@pytest.mark.parametrize(
    "selector",
    [
        ".rl-stage,.rl-theme",
        'body[data-jp-theme-light="false"] :is(.rl-stage,.rl-theme)',
        "@media print{:is(body,body[data-jp-theme-light]) :is(.rl-stage,.rl-theme)",
    ],
)
def test_its_style_defines_every_colour_for_light_dark_and_print(selector):
    """Each of the three blocks sets all roles, and paper to the page's own or to white."""
    css = str(Stage._css)
    block = css[css.index(f"{selector}{{") :]
    block = block[len(selector) + 1 : block.index("}")]
    names = set(re.findall(r"(--rl-[a-z0-9]+):", block))
    assert names == {f"--rl-{role}" for role in palette.COLOURS}
    paper = re.findall(r"--rl-paper:([^;]+)", block)[-1]
    assert paper == ("#fff" if "print" in selector else paper)
    dark = "false" in selector
    assert f"--rl-lane0:{palette.COLOURS['lane0'][dark]}" in block


def test_its_style_has_no_motion_and_readable_text():
    """Nothing blinks or moves by itself, focus is shown, and no text is under 12 px."""
    css = str(Stage._css)
    calm = "@media (prefers-reduced-motion: no-preference) {"
    still, moving = css.split(calm)
    assert not re.search(r"@keyframes|animation|transition", still)
    assert re.findall(r"@keyframes|animation|transition: [^;]*", moving) == [
        "transition: transform 0.12s ease-out"  # a stroke that the playhead passes; size, never brightness
    ]
    assert ":focus-visible" in css
    assert all(float(size) >= 12 for size in re.findall(r"font-size:\s*([\d.]+)px", css))
    used = set(re.findall(r"var\((--rl-[a-z0-9]+)", css))
    assert used <= set(re.findall(r"(--rl-[a-z0-9]+):", css))  # colours, and the scales of letters and spaces


def test_no_change_in_a_panel_restyles_all_of_it():
    """No rule asks with :has what is in a card, an output or a box of widgets: each costs 5 ms a change."""
    asked = set(re.findall(r"([\w-]*)(?::not\()?:has\(", str(Stage._css)))
    assert asked == {
        "rl-feedback",
        "rl-tempo",
        "rl-field",
        "rl-picture",
    }  # small, or themselves what is styled
