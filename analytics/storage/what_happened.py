"""What this process did to the records and mended in them, for whoever has to say it when the process ends."""

_begun: list[str] = []  # changes of the records that this process began,
_done: list[str] = []  # and those that it finished, in words
_mended: list[str] = []  # what was found and mended on opening


def begun() -> None:
    """A change of the records begins, which may or may not be finished."""
    _begun.append("")


def done(words: str) -> None:
    """The change is finished; what was done, in words."""
    _done.append(words)


def what_was_done() -> str:
    """What this process did to the records, for whoever has to say it after something went wrong."""
    if len(_begun) > len(_done):
        return "Whether the last change was saved is told by the history: standrow undo"
    return f"{_done[-1]} before that." if _done else "Nothing was saved."


def mended(words: str) -> None:
    """Something was found damaged on opening, and mended; what, in words."""
    _mended.append(words)


def take_mended() -> list[str]:
    """What was found and mended on opening since this was asked last, in words."""
    taken = _mended.copy()
    del _mended[: len(taken)]
    return taken
