"""Which tests pass through which line: one run of the tests, traced.

The map makes a trial short: a fault is tried on the tests that run its line, the quickest first.
What a fixture or a cache does once is seen in the first test that asks for it, so a fault there is
also tried on the tests that run the lines where its function or its constant is named.
"""

import ast
import json
import re
import subprocess
import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import coverage
import pytest

FOLDERS = ("shared", "theory", "practice", "report", "listen", "stackline")
SLOW_S = 20.0  # a test that takes longer, traced, is not run for a fault
FILE_S = 0.7  # what it takes to import one more file of tests


@dataclass(kw_only=True)
class Passing:
    """tests: seconds of each test that passed. lines: of each file, the tests that run each."""

    tests: dict[str, float] = field(default_factory=dict)
    lines: dict[str, dict[int, list[str]]] = field(default_factory=dict)

    def for_fault(
        self, file: str, line: int, texts: Mapping[str, str], budget_s: float
    ) -> list[str]:
        """Tests to try a fault on, the likeliest first. texts: of every product file."""
        found = set(self.lines.get(file, {}).get(line, ()))
        for name in shared_names(texts[file], line):
            found |= self._naming(name, texts)
        if not found:
            found = {test for tests in self.lines.get(file, {}).values() for test in tests}
        return self._quickest(found, f"test_{Path(file).stem}.py", budget_s)

    def _naming(self, name: str, texts: Mapping[str, str]) -> set[str]:
        """The tests that run a line with this name in it."""
        word = re.compile(rf"\b{re.escape(name)}\b")
        return {
            test
            for file, text in texts.items()
            if word.search(text)
            for number, line in enumerate(text.splitlines(), 1)
            if word.search(line)
            for test in self.lines.get(file, {}).get(number, ())
        }

    def _quickest(self, tests: Iterable[str], own: str, budget_s: float) -> list[str]:
        """As many as the time allows: those of the file's own test, then the quickest."""
        taken: list[str] = []
        files: set[str] = set()
        left = budget_s
        for test in sorted(tests, key=lambda one: (own not in one, self.tests.get(one, SLOW_S))):
            file = test.split("::")[0]
            left -= self.tests.get(test, SLOW_S) + FILE_S * (file not in files)
            if left < 0 and taken:
                break
            taken.append(test)
            files.add(file)
        return taken

    def save(self, path: Path) -> None:
        """As JSON."""
        path.write_text(json.dumps({"tests": self.tests, "lines": self.lines}), encoding="utf-8")

    @classmethod
    def load(cls, path: Path) -> "Passing":
        """What `save` wrote."""
        data = json.loads(path.read_text(encoding="utf-8"))
        lines = {
            file: {int(line): tests for line, tests in rows.items()}
            for file, rows in data["lines"].items()
        }
        return cls(tests=data["tests"], lines=lines)


def shared_names(text: str, line: int) -> list[str]:
    """What a line defines for others once: a module's names, or a function whose result is kept."""
    for node in ast.parse(text).body:
        first = min(
            (one.lineno for one in getattr(node, "decorator_list", ())), default=node.lineno
        )
        if not first <= line <= (node.end_lineno or node.lineno):
            continue
        if isinstance(node, ast.FunctionDef):
            kept = any("cache" in ast.unparse(one) for one in node.decorator_list)
            return [node.name] if kept else []
        if isinstance(node, ast.ClassDef):
            inside = any(
                isinstance(one, ast.FunctionDef) and one.lineno <= line <= (one.end_lineno or 0)
                for one in node.body
            )
            return [] if inside else [node.name]
        return [one.id for one in ast.walk(node)
                if isinstance(one, ast.Name) and isinstance(one.ctx, ast.Store)]  # fmt: skip
    return []


class _Watch:
    """Names each test to the tracer, and takes its time."""

    def __init__(self, tracer: coverage.Coverage) -> None:
        self._tracer, self._seconds, self._failed = tracer, dict[str, float](), set[str]()

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        self._tracer.switch_context(nodeid)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self._seconds[report.nodeid] = self._seconds.get(report.nodeid, 0.0) + report.duration
        if report.outcome != "passed":
            self._failed.add(report.nodeid)

    @property
    def passed(self) -> dict[str, float]:
        """Seconds of each test that passed and was not skipped."""
        return {test: seconds for test, seconds in self._seconds.items()
                if test not in self._failed}  # fmt: skip


def trace(root: Path, out: Path, folders: Sequence[str] = FOLDERS) -> Passing:
    """Run the tests of a copy of the tree in a process of their own; the map is kept in `out`."""
    command = [sys.executable, "-m", "bench.small_faults.passing_tests", str(out), *folders]
    found = subprocess.run(command, cwd=root, check=False, capture_output=True, text=True)
    if not out.exists():
        raise RuntimeError(f"the tests could not be traced:\n{found.stdout}\n{found.stderr}")
    return Passing.load(out)


def _main(out: Path, folders: Sequence[str]) -> None:
    root = Path.cwd()
    tracer = coverage.Coverage(data_file=None, include=[f"{root}/{one}/*" for one in FOLDERS])
    watch = _Watch(tracer)
    tracer.start()
    pytest.main(
        ["-q", "-p", "no:cacheprovider", "-m", "not browser", *(f"tests/{one}" for one in folders)],
        plugins=[watch],
    )
    tracer.stop()
    data, passed = tracer.get_data(), watch.passed
    found = Passing(tests=passed)
    for file in sorted(data.measured_files()):
        found.lines[str(Path(file).relative_to(root))] = {
            line: [one for one in tests if passed.get(one, SLOW_S) < SLOW_S]
            for line, tests in data.contexts_by_lineno(file).items()
        }
    found.save(out)


if __name__ == "__main__":
    _main(Path(sys.argv[1]), sys.argv[2:])
