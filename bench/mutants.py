"""How many small faults put into the calculating rooms the tests of those rooms notice.

    .venv/bin/python bench/mutants.py [--room core --room course] [--sample 50] [--seed 1] [--only constant]

A mutant is the source with one place changed: a comparison, a sign, a number, a condition, a named
constant. Each runs the tests of its room in a copy of the tree, those of its own file first, and stops at
the first that fails. What is printed: the share noticed, and the line of each that was not.
"""

from __future__ import annotations

import argparse
import ast
import concurrent.futures
import os
import queue
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

HOUSE = Path(__file__).parents[1]
PACKAGE = Path("src") / "pacewright"
TAKEN = ("src", "tests", "authorities", "docs", "conftest.py", "pyproject.toml")
KINDS = ("constant", "comparison", "arithmetic", "logic", "number")
ROOMS = ("core", "course")
NO_TESTS = 5
"""What pytest gives back where there was nothing to run."""

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
RECKONED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.Mod: ast.Add,
    ast.MatMult: ast.Mult,
}


@dataclass(frozen=True, slots=True)
class Mutant:
    """One place of one file, and what is done to it."""

    file: Path
    """From the top of the tree."""
    place: int
    """Number of the node in the order of a walk through the file."""
    kind: str
    line: int


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the tests said of a mutant."""

    mutant: Mutant
    how: str
    """`killed`, `timed out` or `survived`."""
    change: str
    """The place as it was and as it was made."""


def numbered(tree: ast.AST) -> Iterator[tuple[int, ast.AST]]:
    """Every node with its number, leaving out what no test can see: annotations and complaints."""
    hidden: set[int] = set()
    for node in ast.walk(tree):
        parts: list[ast.AST | None] = []
        if isinstance(node, ast.FunctionDef):
            parts = [node.returns, *node.decorator_list]
        elif isinstance(node, ast.AnnAssign | ast.arg):
            parts = [node.annotation]
        elif isinstance(node, ast.Raise):
            parts = [node.exc]
        elif isinstance(node, ast.keyword) and node.arg in ("strict", "cache", "maxsize"):
            parts = [node.value]
        hidden |= {id(inner) for part in parts if part is not None for inner in ast.walk(part)}
    for place, node in enumerate(ast.walk(tree)):
        if id(node) not in hidden:
            yield place, node


def is_number(node: ast.AST | None) -> bool:
    """Whether a node is a number that is written out."""
    return isinstance(node, ast.Constant) and type(node.value) in (int, float)


def kind_of(node: ast.AST) -> str | None:
    """Which change a node can take, if any."""
    if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name) and node.target.id.isupper():
        if any(is_number(inner) for inner in ast.walk(node.value or node)):
            return "constant"
    elif isinstance(node, ast.Compare):
        return "comparison" if type(node.ops[0]) in COMPARED else None
    elif isinstance(node, ast.BinOp):
        text = any(isinstance(side, ast.Constant | ast.JoinedStr) for side in (node.left, node.right))
        is_text = text and not (is_number(node.left) or is_number(node.right))
        return "arithmetic" if type(node.op) in RECKONED and not is_text else None
    elif isinstance(node, ast.BoolOp | ast.If | ast.IfExp) or (
        isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub)
    ):
        return "logic"
    elif is_number(node):
        return "number"
    return None


def other_number(value: float) -> float:
    """A number beside the one given, of the same type."""
    if isinstance(value, int):
        return value + 1
    return value * 1.4 if value else 1.0


def change(node: ast.AST) -> None:
    """Put the fault into a node."""
    if isinstance(node, ast.AnnAssign):
        for inner in ast.walk(node.value or node):
            if is_number(inner):
                change(inner)
                return
    elif isinstance(node, ast.Compare):
        node.ops[0] = COMPARED[type(node.ops[0])]()
    elif isinstance(node, ast.BinOp):
        node.op = RECKONED[type(node.op)]()
    elif isinstance(node, ast.BoolOp):
        node.op = ast.And() if isinstance(node.op, ast.Or) else ast.Or()
    elif isinstance(node, ast.If | ast.IfExp):
        node.test = ast.UnaryOp(ast.Not(), node.test)
    elif isinstance(node, ast.UnaryOp):
        node.op = ast.UAdd() if isinstance(node.op, ast.USub) else ast.Not()
        if isinstance(node.op, ast.Not):
            node.operand = ast.UnaryOp(ast.Not(), node.operand)
    elif isinstance(node, ast.Constant):
        node.value = other_number(node.value)


def shown(node: ast.AST) -> str:
    """A node as one short line of source."""
    part = node.test if isinstance(node, ast.If | ast.IfExp) else node
    text = " ".join(ast.unparse(part).split())
    return text if len(text) <= 90 else f"{text[:87]}..."


def mutants_of(file: Path, kinds: Sequence[str]) -> list[Mutant]:
    """Every mutant of a file; a number that a named constant holds counts once."""
    tree = ast.parse((HOUSE / file).read_text(encoding="utf-8"))
    named: set[int] = set()
    for node in ast.walk(tree):
        if kind_of(node) == "constant":
            named |= {id(inner) for inner in ast.walk(node) if inner is not node}
    return [
        Mutant(file, place, kind, node.lineno)  # type: ignore[attr-defined]
        for place, node in numbered(tree)
        if id(node) not in named and (kind := kind_of(node)) in kinds
    ]


def mutate(mutant: Mutant, source: str) -> tuple[str, str]:
    """The source with the fault in it, and the place before and after."""
    tree = ast.parse(source)
    node = dict(enumerate(ast.walk(tree)))[mutant.place]
    before = shown(node)
    change(node)
    return ast.unparse(ast.fix_missing_locations(tree)), f"{before}  ->  {shown(node)}"


def stages(file: Path, tree: Path) -> list[list[str]]:
    """The tests of a file's room, nearest first: those that import it, its package's, the room's others."""
    inside = file.relative_to(PACKAGE).with_suffix("")
    module = ".".join(("pacewright", *inside.parts))
    room = Path("tests") / inside.parts[0]
    tests = sorted(path.relative_to(tree) for path in (tree / room).rglob("test_*.py"))
    importing = {test for test in tests if module in (tree / test).read_text(encoding="utf-8")}
    beside = {test for test in tests if test.parent == Path("tests") / inside.parent} - importing
    rest = set(tests) - importing - beside
    found = [[str(file), *sorted(map(str, importing))], sorted(map(str, beside)), sorted(map(str, rest))]
    return [stage for stage in found if stage]


def run_tests(tree: Path, tests: Sequence[str], marks: str, seconds: float) -> int | None:
    """What pytest gives back; nothing where the time ran out."""
    asked = [sys.executable, "-m", "pytest", "-x", "-p", "no:cacheprovider", "-m", marks]
    environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": ""}
    with subprocess.Popen(
        [*asked, "--hypothesis-seed", "0", *tests],
        cwd=tree,
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    ) as running:
        try:
            return running.wait(timeout=seconds)
        except subprocess.TimeoutExpired:
            os.killpg(running.pid, signal.SIGKILL)
            return None


def judge(mutant: Mutant, tree: Path, marks: str, seconds: float) -> Verdict:
    """Put a mutant into a copy of the tree, run its tests, and take it out again."""
    target, original = tree / mutant.file, HOUSE / mutant.file
    changed, change_made = mutate(mutant, original.read_text(encoding="utf-8"))
    target.write_text(changed, encoding="utf-8")
    # Far from the original's time, so that nothing compiled before is taken for it.
    os.utime(target, (time.time() + 1000.0, time.time() + 1000.0))
    how = "survived"
    try:
        for tests in stages(mutant.file, tree):
            code = run_tests(tree, tests, marks, seconds)
            if code not in (0, NO_TESTS):
                how = "timed out" if code is None else "killed"
                break
    finally:
        shutil.copy2(original, target)
    return Verdict(mutant, how, change_made)


def copied_tree(folder: Path) -> Path:
    """A copy of all that the tests read."""
    tree = folder / "tree"
    tree.mkdir()
    for name in TAKEN:
        source = HOUSE / name
        if source.is_dir():
            shutil.copytree(source, tree / name)
        else:
            shutil.copy2(source, tree / name)
    return tree


def must_pass(rooms: Sequence[str], tree: Path, marks: str) -> None:
    """Stop where the tests fail with no fault put in: then they tell nothing."""
    for room in rooms:
        if run_tests(tree, [f"tests/{room}"], marks, 3600.0) != 0:
            sys.exit(f"tests/{room} does not pass as it is. Mend that first.")


def judged(mutants: Sequence[Mutant], asked: argparse.Namespace, folder: Path) -> Iterator[Verdict]:
    """Judge them side by side, each in a tree that nobody else uses meanwhile."""
    trees: queue.Queue[Path] = queue.Queue()
    for job in range(asked.jobs):
        (folder / str(job)).mkdir()
        trees.put(copied_tree(folder / str(job)))
    must_pass(asked.room or ROOMS, folder / "0" / "tree", asked.marks)

    def one(mutant: Mutant) -> Verdict:
        tree = trees.get()
        try:
            return judge(mutant, tree, asked.marks, asked.seconds)
        finally:
            trees.put(tree)

    with concurrent.futures.ThreadPoolExecutor(asked.jobs) as pool:
        yield from pool.map(one, mutants)


def arguments() -> argparse.Namespace:
    """What is asked on the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--room", action="append", choices=["core", "course", "answers", "ground", "route"])
    parser.add_argument("--file", action="append", help="part of the names of the files; all unless given")
    parser.add_argument("--only", action="append", choices=KINDS, help="kinds of change; all unless given")
    parser.add_argument("--sample", type=int, default=50, help="how many; 0 for all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--seconds", type=float, default=300.0, help="for each run of tests")
    parser.add_argument("--marks", default="not slow", help="which tests, as pytest's -m takes it")
    return parser.parse_args()


def main() -> None:
    asked = arguments()
    rooms = asked.room or ROOMS
    files = [
        file.relative_to(HOUSE)
        for room in rooms
        for file in sorted((HOUSE / PACKAGE / room).rglob("*.py"))
        if not asked.file or any(part in file.as_posix() for part in asked.file)
    ]
    mutants = [mutant for file in files for mutant in mutants_of(file, asked.only or KINDS)]
    chosen = random.Random(asked.seed).sample(mutants, min(asked.sample or len(mutants), len(mutants)))
    print(f"{len(chosen)} of {len(mutants)} mutants of {', '.join(rooms)}, seed {asked.seed}", flush=True)
    found: Counter[tuple[str, str]] = Counter()
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        for verdict in judged(chosen, asked, Path(folder)):
            mutant = verdict.mutant
            found[mutant.kind, verdict.how] += 1
            if verdict.how == "survived":
                print(f"survived  {mutant.file.as_posix()}:{mutant.line}  {verdict.change}", flush=True)
    for kind in KINDS:
        each = {how: count for (of, how), count in found.items() if of == kind}
        if each:
            print(f"{kind:12}", ", ".join(f"{count} {how}" for how, count in sorted(each.items())))
    noticed = sum(count for (_, how), count in found.items() if how != "survived")
    print(f"noticed: {noticed} of {len(chosen)} ({noticed / max(len(chosen), 1):.0%})")


if __name__ == "__main__":
    main()
