"""Paired comparison on arrays alone: field-years and years, both questions, exact companions, planning."""

import sys
from importlib.util import LazyLoader, find_spec, module_from_spec

import numpy

# The library of special functions names every part of numpy when it is loaded, and so would load all of them: 45 ms and
# 9 MB for compilers and test helpers. These wait until somebody uses one, which nobody here does.
NEVER_USED_HERE = ("ctypeslib", "f2py", "testing")


def _put_off(part: str) -> None:
    name = f"numpy.{part}"
    spec = find_spec(name)
    if name in sys.modules or spec is None or spec.loader is None:
        return
    spec.loader = LazyLoader(spec.loader)
    module = module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)  # nothing of it is run before one of its names is asked for
    setattr(numpy, part, module)


for one in NEVER_USED_HERE:
    _put_off(one)
