"""What an error message must hold: what was given, what is wrong, and an example that works."""

from collections.abc import Callable

import pytest

import rhythmlab as rl
from rhythmlab.refusal import Refusal

#: What a message says in place of a whole number of thousands of digits.
TOO_LONG = "a number too long to print"


def refusal(call: Callable[[], object], given: str, wrong: str, error: type = ValueError) -> str:
    """Return the example in the message of a refused call, having found in it what was given and is wrong."""
    with pytest.raises(error) as caught:
        call()
    found = caught.value
    assert isinstance(found, Refusal), f"raw: {found!r}"
    assert given in found.wrong
    assert wrong in found.wrong
    assert found.example, f"no example in: {found}"
    assert str(found) == f"{found.wrong}; for example {found.example}"
    return found.example


def works(example: str, **names: object) -> object:
    """Return what the example from a message gives, with the public names at hand."""
    public = {name: getattr(rl, name) for name in rl.__all__}
    return eval(example, {"rhythmlab": rl, "rl": rl, **public, **names})


def keywords(example: str) -> dict:
    """Return the keywords that an example such as ``start=0, stop=28`` gives."""
    return works(f"dict({example})")
