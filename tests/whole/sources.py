"""The program's own files, read once for all tests that look at them."""

import ast
from dataclasses import dataclass
from functools import cache
from pathlib import Path


@dataclass(frozen=True)
class Source:
    """What stands in a file of code.

    modules : what it imports, by dotted name, inside functions too
    public : the public classes and functions on its top
    texts : every piece of text but docstrings, which are for developers
    calls : the methods that it calls, by name
    """

    modules: frozenset[str]
    public: tuple[ast.ClassDef | ast.FunctionDef, ...]
    texts: tuple[str, ...]
    calls: tuple[str, ...]


@cache
def source(file: Path) -> Source:
    return parsed(file.read_text(encoding="utf-8"))


def parsed(code: str) -> Source:
    tree = ast.parse(code)
    modules: set[str] = set()
    docstrings: set[ast.expr] = set()
    texts: list[str] = []
    calls: list[str] = []
    for node in ast.walk(tree):  # comes to a body before what is in it
        if isinstance(node, ast.Import):
            modules |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            is_package = node.module in ("analytics", "dashboard")
            modules |= {f"{node.module}.{alias.name}" for alias in node.names} if is_package else {node.module}
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            calls.append(node.func.attr)
        elif isinstance(node, ast.JoinedStr):
            texts.append("".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in docstrings:
            texts.append(node.value)
        elif isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            docstrings |= {first.value for first in node.body[:1] if isinstance(first, ast.Expr)}
    defined = [node for node in tree.body if isinstance(node, ast.ClassDef | ast.FunctionDef)]
    public = tuple(node for node in defined if not node.name.startswith("_"))
    return Source(frozenset(modules), public, tuple(texts), tuple(calls))
