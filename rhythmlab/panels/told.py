"""Errors inside callbacks are shown in the panel, in the words of its fields."""

import re
from collections.abc import Callable
from functools import wraps


def plainly(message: str) -> str:
    """Leave out the call that a message ends with: in a panel there are fields, not calls.

    Examples
    --------
    >>> plainly("lands=5 is not a beat of 4/4, which has 4; for example resolve((7, 4))")
    'lands=5 is not a beat of 4/4, which has 4.'
    """
    return re.sub(r"; (?:look at some bars, )?for example [A-Za-z_.]+\(.*$", ".", message, flags=re.DOTALL)


def told(method: Callable) -> Callable:
    """Show what goes wrong in a callback in the panel, where it would otherwise vanish."""

    @wraps(method)
    def guarded(self: object, *args: object) -> None:
        try:
            method(self, *args)
            self.stage.notice = self._unread()
        except (ValueError, IndexError) as error:
            self.stage.notice = plainly(str(error))
        except Exception as error:
            self.stage.notice = (
                f"This did not work, and it is a fault of the page: {type(error).__name__}: {error}"
            )

    return guarded
