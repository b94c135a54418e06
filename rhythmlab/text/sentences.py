"""Sentences: templates of ``data/sentences.json``, filled alike here and in a browser; texts joined.

A key is the path to a template, such as ``"facts.heard"``; a name in braces stands for a value.
What is counted has two forms, ``one`` and ``other``; which one is meant is told by `form`.
"""

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from string import Formatter
from types import MappingProxyType

from rhythmlab.resources import folder

#: The file in the data folder.
FILE = "sentences.json"


def say(key: str, /, **values: str | int) -> str:
    """Return a sentence: a template with each of its names filled by a value.

    Parameters
    ----------
    key : str
        Which template.
    **values : str or int
        A value for each of its names, and no other; a number is written plainly.

    Raises
    ------
    KeyError
        If there is no such template.
    TypeError
        If the names are not those of the template.

    Examples
    --------
    >>> say("name.pair", first=7, second="4")
    '7 against 4'
    """
    wanted = _names()[key]
    if values.keys() != wanted:
        raise TypeError(f"the sentence {key} needs {sorted(wanted)}, not {sorted(values)}")
    return templates()[key].format_map(values)


def form(count: object) -> str:
    """Return which form of a counted word is meant: ``"one"`` or ``"other"``.

    Examples
    --------
    >>> form(1), form(0), form(2)
    ('one', 'other', 'other')
    """
    return "one" if count == 1 else "other"


@cache
def templates() -> Mapping[str, str]:
    """Return all templates by their keys.

    Examples
    --------
    >>> templates()["name.pair"]
    '{first} against {second}'
    """
    text = (folder("data") / FILE).read_text(encoding="utf-8")
    return MappingProxyType(dict(_leaves("", json.loads(text))))


def for_page() -> str:
    """Return all templates as JSON that can stand inside a script element of an HTML page.

    ``sentences.mjs`` of the stage fills them.

    Examples
    --------
    >>> json.loads(for_page()) == templates()
    True
    """
    text = json.dumps(dict(templates()))  # ASCII only
    for sign in "<>&":  # no end of the element, no comment
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


@cache
def _names() -> Mapping[str, frozenset[str]]:
    return {
        key: frozenset(name for _, name, _, _ in Formatter().parse(template) if name is not None)
        for key, template in templates().items()
    }


def _leaves(path: str, node: object) -> Iterator[tuple[str, str]]:
    """Yield each template of a tree with its path."""
    if isinstance(node, dict):
        for key, inside in node.items():
            yield from _leaves(f"{path}.{key}" if path else key, inside)
    else:
        yield path, str(node)


def capital(text: str) -> str:
    """Return a text with its first letter capital, and the rest as it is.

    Examples
    --------
    >>> capital("the 7 in 7/8 as A")
    'The 7 in 7/8 as A'
    """
    return f"{text[:1].upper()}{text[1:]}"


def order_to_say(words: str) -> str:
    """Return words as an order to say them, given once.

    Examples
    --------
    >>> order_to_say("1 trip let"), order_to_say("say only the ones")
    ('Say: 1 trip let', 'Say only the ones')
    """
    return capital(words) if words.lower().startswith("say ") else f"Say: {words}"


def sentences(*texts: str) -> str:
    """Join sentences, leaving out the empty ones."""
    return " ".join(text for text in texts if text)


def verb(name: str, singular: str, plural: str) -> str:
    """Return the verb that goes with a name: that of several hands, feet or drums is plural.

    Examples
    --------
    >>> [f"the {name} {verb(name, 'falls', 'fall')}" for name in ("hands", "7", "left hand", "brass")]
    ['the hands fall', 'the 7 falls', 'the left hand falls', 'the brass falls']
    """
    last = name.split()[-1].lower() if name.split() else ""
    return plural if last in ("feet", "people") or re.search(r"[a-z](?<![suia])s$", last) else singular


def listed(texts: Sequence[str]) -> str:
    """Join words as a person would.

    Examples
    --------
    >>> listed(["flam", "open flam", "alternating"])
    'flam, open flam and alternating'
    """
    return " and ".join(filter(None, [", ".join(texts[:-1]), *texts[-1:]]))
