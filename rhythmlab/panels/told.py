"""Errors inside callbacks are shown in the panel, in the words of its fields."""

from collections.abc import Callable
from functools import wraps

from rhythmlab.core.check import plainly


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
