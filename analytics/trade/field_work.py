"""Field work by the name a farm gives it: whether a name sounds like a job that a cost rate stands for already."""

from collections.abc import Mapping

# Beginnings of words that speak of a job with a rate of its own, and the cost item. Common practice, no source.
SOUNDS_LIKE = {
    "swath": "windrowing",
    "windrow": "windrowing",
    "cut": "windrowing or combining",
    "roll": "rolling",
    "desic": "pre-harvest product",
    "dessic": "pre-harvest product",
    "product": "pre-harvest product",
    "chemical": "pre-harvest product",
    "herbicide": "pre-harvest product",
    "spray": "application",
    "appl": "application",
    "combin": "combining",
    "harvest": "combining",
    "thresh": "combining",
    "dry": "drying",
    "dried": "drying",
    "haul": "freight",
    "truck": "freight",
    "freight": "freight",
    "deliver": "freight",
}


def work_question(operation: str, items: Mapping[str, str]) -> str | None:
    """A question about field work whose name is not known but sounds like a job with a rate; None otherwise.

    Unasked it would be charged as work of its own, and the rate of the job it sounds like on top.
    items : the cost item of each known name, in lower case, as in the view operation_items
    >>> work_question("Spraying", {"spraying": "application"}) is None
    True
    >>> work_question("sprayed twice", {"spraying": "application"})
    '"sprayed twice" counts as work of its own, besides application. If it is application, type application.'
    """
    name = operation.strip().lower()
    if name in items:
        return None
    words = name.replace("-", " ").replace("/", " ").replace("+", " ").split()
    found = dict.fromkeys(item for word in words for start, item in SOUNDS_LIKE.items() if word.startswith(start))
    if not found:
        return None
    item = " and ".join(found)
    return f'"{operation.strip()}" counts as work of its own, besides {item}. If it is {item}, type {item}.'
