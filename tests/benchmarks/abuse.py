"""Abuse: random studies, mutated files, killed runs and full disks, for hours if asked; lists what broke.

Run as `OMP_NUM_THREADS=1 PYTHONPATH=. python tests/benchmarks/abuse.py --seconds 3600`. Each command runs in a process
of its own, forked from one that has loaded the libraries. A study is whole (`run`, and `compare` if it has cases), a
mutated file is checked and sometimes run, a run is killed while it writes, or is given too small a disk or a folder
that nobody may write.

What counts as broken: a traceback, an exit status that is not of the documented ones, an error of the program, memory
above 2 GB, a number in results.json that is not finite, a cell of the report that says nan, inf or None, a refusal
without a line or without what to write instead, a sound study without a solution, a folder that is not whole.
A command without an end after 60 s of processor time, or five times that on the clock, is long, and is told with its
last words. `--only SEED` repeats one, `--shrink` makes its study small; `--keep FOLDER` keeps the studies that broke.
The status is 1 if anything broke. `--smallest` takes a few seconds.
"""

import argparse
import contextlib
import functools
import json
import math
import os
import re
import resource
import select
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path

import numpy as np

import studies.answers.registry
import studies.compare.command
import studies.output.write
import studies.runner
from studies.command import BAD_INPUT, DONE, NUMERICAL_FAILURE, main
from studies.compare.plan import plan_of
from studies.output import numbers
from studies.section.course import course_frames
from studies.section.cross_section import cross_section
from studies.section.route_sections import route_sections
from studies.text.problems import StudyError
from tests.studies.random_files import SURVEY, random_file, repaired

EXAMPLES = Path(studies.__file__).parent / "examples"
KINDS = ("study", "study", "study", "mutated", "mutated", "mutated", "mutated", "killed", "full disk", "closed folder")
LONGEST = 60.0
"""Processor seconds that a command may take."""
CLOCK = 5.0
"""Seconds on the clock of a machine that others use too, for each processor second."""
SMALLEST = range(1312, 1320)
"""Seeds of the smallest run: a study, mutated files, a closed folder; tests of the folder kill runs and fill disks."""
MOST_MEMORY = 2048
"""Megabytes that a command may take."""
STATUSES = (DONE, BAD_INPUT, NUMERICAL_FAILURE)
NOT_FINITE = "not finite"
LONG = "long: "
"""Begins what is told of a command that was at work all the time; it is counted for itself."""
CELL = re.compile(r"<t[dh][^>]*>\s*(?:<[^>]+>\s*)*[-+±]?\s*(nan|NaN|inf|None)\b")


@dataclass(frozen=True)
class Outcome:
    """How one command ended."""

    status: int
    told: str
    seconds: float
    megabytes: float


@dataclass
class Attempt:
    """One seed: what was done, the study, and what broke."""

    seed: int
    kind: str
    text: str = ""
    seconds: float = 0.0
    refused: bool = False
    broken: list[str] = field(default_factory=list)


def commanded(
    folder: Path, *arguments: str, before: Callable[[], object] = lambda: None, killed_after: float = 0
) -> Outcome:
    """Run the command in a process of its own within a folder; kill it a while after it begins to write, if asked.

    before: What the process does first, such as to limit the size of its files.
    """
    start, (reading, writing) = time.perf_counter(), os.pipe()
    process = os.fork()
    if process == 0:
        status = 99
        try:
            os.chdir(folder)
            os.setsid()
            os.dup2(writing, 1)
            os.dup2(writing, 2)
            sys.stdout, sys.stderr = (os.fdopen(os.dup(1), "w", encoding="utf-8") for _ in range(2))
            tempfile.tempdir = str(folder)
            numbers.plain_data = marked
            resource.setrlimit(resource.RLIMIT_CPU, (int(LONGEST), int(LONGEST) + 5))
            before()
            status = main(arguments)
        except SystemExit as ended:
            status = int(ended.code or 0)
        finally:
            with contextlib.suppress(Exception):
                sys.stdout.flush()
                sys.stderr.flush()
            os._exit(status)
    os.close(writing)
    told = b"".join(read_until_killed(reading, process, folder / "results" / ".in-use" / "new", killed_after))
    os.close(reading)
    _, raw, used = os.wait4(process, 0)
    seconds, text = time.perf_counter() - start, told.decode("utf-8", "replace")
    return Outcome(os.waitstatus_to_exitcode(raw), text, seconds, used.ru_maxrss / 1024)


def read_until_killed(reading: int, process: int, written: Path, killed_after: float) -> Iterator[bytes]:
    """What a process tells, until it ends; it is killed when its time is over, or a while after a folder is there."""
    deadline, awaited = time.perf_counter() + CLOCK * LONGEST, killed_after > 0
    while True:
        if awaited and written.exists():
            deadline, awaited = time.perf_counter() + killed_after, False
        left = max(deadline - time.perf_counter(), 0)
        if select.select([reading], [], [], min(left, 0.005) if awaited else left)[0]:
            if not (chunk := os.read(reading, 65536)):
                return
            yield chunk
        elif left <= 0:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process, signal.SIGKILL)
            deadline = time.perf_counter() + LONGEST


_plain = numbers.plain_data


def marked(value: object) -> object:
    """Plain data that says where a number is not finite, which a run writes as null."""
    return NOT_FINITE if isinstance(value, float | np.floating) and not math.isfinite(value) else _plain(value)


def broken_command(outcome: Outcome, allowed: Sequence[int] = STATUSES) -> Iterator[str]:
    """What is wrong with how a command ended."""
    told = outcome.told.strip()
    if -outcome.status in (signal.SIGXCPU, signal.SIGKILL) or f"signal {signal.SIGXCPU:d}" in told:
        last = told.rpartition("\n")[2].strip()
        yield f"{LONG}no end after {LONGEST:g} s of the processor, {outcome.seconds:.0f} s on the clock; last: {last}"
    elif outcome.status not in allowed:
        yield f"status {outcome.status}: {told[-600:]}"
    if "Traceback" in told or "Warning:" in told:
        yield f"traceback or warning: {told[-1500:]}"
    if outcome.megabytes > MOST_MEMORY:
        yield f"{outcome.megabytes:.0f} MB"


def broken_refusal(told: str) -> Iterator[str]:
    """Problems of a study without their line, or without what to write instead."""
    lines = told.partition("\n  Look up:")[0].strip().split("\n")
    if "to put right" not in lines[0]:
        yield f"refused without a problem: {told[:400]}"
        return
    wrong = [line for line in lines[1:] if line.startswith("  ") and not line.startswith("    ")]
    right = [line for line in lines[1:] if line.startswith("      right: ")]
    if len(wrong) != len(right) or not wrong:
        yield f"refused without what is right: {told[:600]}"
    lost = [line for line in wrong if not re.match(r'  (case "[^"]*": )?line \d+', line)]
    if lost and "is missing" not in lost[0]:
        yield f"refused without a line: {lost[0][:300]}"


def broken_results(folder: Path) -> Iterator[str]:
    """Numbers and cells of a results folder that say nothing."""
    if not (folder / "results.json").exists():
        return
    document = json.loads((folder / "results.json").read_text(encoding="utf-8"))
    where = Counter(re.sub(r"\d+", "#", place) for place in not_finite(document))
    yield from (f"not finite in results.json: {place} ({count})" for place, count in where.items())
    yield from (f"failed: {one['what']}: {one['why']}" for one in document["failures"])
    page = (folder / "report.html").read_text(encoding="utf-8")
    for found in sorted({match[1] for match in CELL.finditer(page)}):
        at = next(match.start() for match in CELL.finditer(page) if match[1] == found)
        yield f"report says {found}: ...{re.sub('<[^>]+>', ' ', page[max(0, at - 400) : at + 60])[-200:]}"
    for file in sorted((folder / "tables").glob("*.csv")):
        rows = file.read_text(encoding="utf-8").splitlines()
        if any(re.search(r"(^|,)(nan|-?inf|None)(,|$)", row) for row in rows):
            yield f"{file.name} says nan, inf or None"


def not_finite(value: object, place: str = "") -> Iterator[str]:
    """Keys of the marked numbers."""
    if value == NOT_FINITE:
        yield place
    elif isinstance(value, dict | list):
        for key, own in value.items() if isinstance(value, dict) else enumerate(value):
            yield from not_finite(own, f"{place}.{key}")


def sound(text: str) -> str:
    """A file without what is wrong in it."""

    def check(own: str) -> None:
        study = plan_of(own, "study.toml").base
        section = cross_section(study)
        route_sections(study, section)
        if study.course is not None:
            course_frames(study, section)

    return repaired(text, check)


def studied(folder: Path, text: str, *options: str) -> Iterator[str]:
    """Run a sound study, and compare its cases."""
    (folder / "study.toml").write_text(text, encoding="utf-8")
    cases = "[sweep]" in text or "[[variants]]" in text
    for verb in ("run", "compare") if cases else ("run",):
        outcome = commanded(folder, verb, "study.toml", "--out", f"results-{verb}", *options)
        yield from broken_command(outcome, (DONE,))
        if verb == "run":
            yield from broken_results(folder / "results-run")


def mutated(folder: Path, random: np.random.Generator, content: bytes, solve: bool) -> Iterator[str]:
    """Check a file of any bytes, and perhaps run it."""
    (folder / "study.toml").write_bytes(content)
    outcome = commanded(folder, "check", "study.toml", "-q")
    yield from broken_command(outcome)
    if outcome.status == BAD_INPUT:
        yield from broken_refusal(outcome.told)
    elif outcome.status == DONE and solve:
        outcome = commanded(folder, "run", "study.toml", "--out", "results")
        yield from broken_command(outcome)
        yield from broken_results(folder / "results")


def killed(folder: Path, random: np.random.Generator, text: str) -> Iterator[str]:
    """Run, run with another title and be killed while writing, run once more."""
    names = ("before", "killed", "after")
    for name in names:
        (folder / "study.toml").write_text(re.sub(r'"?title"? = ".*"', f'title = "{name}"', text), encoding="utf-8")
        late = float(random.exponential(0.3)) if name == "killed" else 0
        outcome = commanded(folder, "run", "study.toml", "--out", "results", "-q", killed_after=late)
        if name != "killed":
            yield from broken_command(outcome, (DONE,))
        yield from not_whole(folder / "results", (name, "before") if name == "killed" else (name,))
    left = [path.name for path in (folder / "results").glob(".*")]
    if left:
        yield f"left in the folder: {', '.join(left)}"


def not_whole(folder: Path, titles: Sequence[str]) -> Iterator[str]:
    """What is wrong with the files that a manifest names."""
    if not (folder / "results.json").exists():
        if "killed" not in titles:
            yield "no results.json"
        return
    document = json.loads((folder / "results.json").read_text(encoding="utf-8"))
    page = folder / "report.html"  # which may have found no room
    of_another = page.exists() and f"<title>{document['title']}" not in page.read_text(encoding="utf-8")
    if document["title"] not in titles or of_another:
        yield f"results of {document['title']} where one of {titles} was run, or a page of another"
    for name in document["files"]:
        if not (folder / name).exists():
            yield f"{name} is named and not there"


def full(folder: Path, random: np.random.Generator, text: str) -> Iterator[str]:
    """Run where files may have no more than some bytes, then where they may."""
    (folder / "study.toml").write_text(text, encoding="utf-8")
    most = int(np.exp(random.uniform(0, math.log(2e6))))

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    outcome = commanded(folder, "run", "study.toml", "--out", "results", "-q", before=limited)
    yield from (f"files of at most {most} bytes: {one}" for one in broken_command(outcome))
    if outcome.status == DONE or (folder / "results" / "results.json").exists():
        yield from not_whole(folder / "results", re.findall(r'"?title"? = "(.*)"', text)[:1])
    yield from studied(folder, text)


def closed(folder: Path, random: np.random.Generator, text: str) -> Iterator[str]:
    """Run into a folder, or beside a file, where a user may not write; into a file; into a folder of other things."""
    (folder / "study.toml").write_text(text, encoding="utf-8")
    place = folder / "closed"
    place.mkdir()
    (place / "mine.txt").write_text("mine", encoding="utf-8")
    place.chmod(0o500)
    folder.chmod(0o777)

    def as_nobody() -> None:
        if os.getuid() == 0:
            os.setgid(65534)
            os.setuid(65534)

    for target in ("closed", "closed/results", "closed/mine.txt", "closed/mine.txt/results", "study.toml"):
        outcome = commanded(folder, "run", "study.toml", "--out", target, "-q", before=as_nobody)
        yield from (f"into {target}: {one}" for one in broken_command(outcome, (BAD_INPUT,)))
        if outcome.told.count("\n") > 2:
            yield f"into {target}: more than a sentence: {outcome.told[:300]}"


NUMBERS = (
    "nan",
    "inf",
    "-inf",
    "1e999",
    "0",
    "-1",
    "1e-300",
    "9" * 400,
    "0x10",
    "1_0",
    "١٢",
    "true",
    '"nan mm"',
    "[]",
    "{}",
)
UNITS = ("m", "km", "mm", "ohm", "kcmil", "Hz", "kA", "T", "deg", "%", "degC", "", "µm", "мм", "furlong", "1/0")
SCALES = (1e-9, 1e-3, 0.1, 0.9, 1.1, 10, 1e3, 1e9, -1)
BYTES = (
    b"\x00",
    b"\xff",
    b"\xef\xbb\xbf",
    b"\r",
    b'"',
    b"[",
    b"]",
    b"\n",
    b"=",
    b"\xe2\x80\x8b",
    b"#",
    b"'''",
    b"\\",
    b".",
)


def mutant(random: np.random.Generator, text: str) -> bytes:
    """A study file with one to four faults."""
    content = text.encode()
    for _ in range(int(random.integers(1, 5))):
        lines = content.split(b"\n")
        at, other = (int(random.integers(len(lines))) for _ in range(2))
        place = int(random.integers(len(content) + 1))
        words = re.findall(rb'"[A-Za-z][^"\n]*"', content) or [b'""']
        one = random.choice(words)
        match int(random.integers(16)):
            case 0:
                content = content[:place] + BYTES[random.integers(len(BYTES))] + content[place:]
            case 1:
                content = content[:place] + content[place + int(random.integers(1, 20)) :]
            case 2:
                content = b"\n".join([*lines[:at], lines[other], *lines[at:]])
            case 3:
                content = b"\n".join([*lines[:at], *lines[at + 1 :]])
            case 4:
                content = b"\n".join([*lines[:at], *lines[at:other], *lines[at:]])
            case 5:
                content = content.replace(b"\n", b"\r\n")
            case 6:
                content = (b"\xef\xbb\xbf" + content, text.encode("utf-16"), content.replace(b"e", b"\xe9", 1))[at % 3]
            case 7:
                content = content[:place]
            case 8:
                deep = int(random.integers(1, 3000))
                content = b"\n".join([*lines[:at], b"a = " + b"[" * deep + b"]" * deep, *lines[at:]])
            case 9:
                content = changed_line(random, content, rb"= .*", lambda old: b"= " + random.choice(NUMBERS).encode())
            case 10:
                content = changed_line(
                    random, content, rb"(?<=[0-9] )[A-Za-z%/^0-9*]+", lambda old: random.choice(UNITS).encode()
                )
            case 11 | 12 | 13:
                content = changed_line(random, content, rb"[0-9]+(\.[0-9]+)?", lambda old: scaled(random, old))
            case 14:
                content = changed_line(random, content, rb"[a-z_]+(?=\"? = )", lambda old: old[:-1] or b"x" * 5000)
            case 15:
                content = changed_line(random, content, rb'"[^"\n]*"', functools.partial(instead, one))
    return content


def instead(new: bytes, old: bytes) -> bytes:
    return new


def scaled(random: np.random.Generator, old: bytes) -> bytes:
    return f"{float(old) * SCALES[random.integers(len(SCALES))]:.6g}".encode() if len(old) < 300 else b"1"


def changed_line(random: np.random.Generator, content: bytes, pattern: bytes, new: Callable[[bytes], bytes]) -> bytes:
    """The content with one of the matches replaced."""
    found = list(re.finditer(pattern, content))
    if not found:
        return content
    match = found[random.integers(len(found))]
    return content[: match.start()] + new(match[0]) + content[match.end() :]


def base_file(random: np.random.Generator) -> str:
    """A file to spoil: an example, or a random one."""
    if random.random() < 0.6:
        return Path(random.choice(sorted(EXAMPLES.glob("*.toml")))).read_text(encoding="utf-8")
    return random_file(int(random.integers(1_000_000)), 12)


def attempt(seed: int, most: int = 60, kind: str = "", text: str = "") -> Attempt:
    """One seed; a kind and a text replace those that it draws."""
    random = np.random.default_rng([seed, 1])
    done = Attempt(seed, kind or str(random.choice(KINDS)), text)
    start = time.perf_counter()
    with tempfile.TemporaryDirectory(prefix="abuse-") as place:
        folder = Path(place)
        (folder / "survey.csv").write_text(SURVEY, encoding="utf-8")
        for file in (*EXAMPLES.glob("*.csv"), *EXAMPLES.glob("*.dxf")):
            shutil.copy(file, folder)
        with contextlib.chdir(folder):
            try:
                done.broken = list(work(done, folder, random, most))
            except StudyError as error:
                done.refused, done.broken = True, [*broken_refusal(str(error))]
            except Exception:  # while it was looked for what is wrong in a file
                done.broken = [f"traceback: {traceback.format_exc()[-1500:]}"]
    done.seconds = time.perf_counter() - start
    return done


def work(done: Attempt, folder: Path, random: np.random.Generator, most: int) -> Iterator[str]:
    """What broke in one attempt."""
    if done.kind == "mutated":
        content = mutant(random, base_file(random)) if not done.text else done.text.encode("utf-8", "surrogateescape")
        done.text = content.decode("utf-8", "surrogateescape")
        yield from mutated(folder, random, content, bool(random.random() < 0.1))
        return
    size = most if done.kind == "study" else 4
    done.text = done.text or random_file(done.seed, size)
    done.text = sound(done.text)
    if done.kind == "study":
        yield from studied(folder, done.text)
    else:
        yield from {"killed": killed, "full disk": full, "closed folder": closed}[done.kind](folder, random, done.text)


def shrunk(broken: Attempt, most: int) -> str:
    """The study without blocks and lines that do not matter to the first thing that broke."""

    def sign(of: Attempt) -> str:
        return re.sub(r"[\d.]+", "#", of.broken[0])[:60] if of.broken else ""

    lines, wanted, size = broken.text.split("\n"), sign(broken), 16
    while size:
        start = 0
        while start < len(lines):
            less = [*lines[:start], *lines[start + size :]]
            tried = attempt(broken.seed, most, broken.kind, "\n".join(less))
            if sign(tried) == wanted:
                lines = less
            else:
                start += size
        size //= 2
    return "\n".join(lines)


def attempts(seeds: Iterator[int], until: float, jobs: int, most: int, kind: str) -> Iterator[Attempt]:
    """Attempts until the time is over, several at once if asked."""
    if jobs == 1:
        while time.perf_counter() < until and (seed := next(seeds, None)) is not None:
            yield attempt(seed, most, kind)
        return
    with ProcessPoolExecutor(jobs, mp_context=get_context("fork")) as pool:
        running: set[Future[Attempt]] = set()
        while True:
            while len(running) < jobs and time.perf_counter() < until and (seed := next(seeds, None)) is not None:
                running.add(pool.submit(attempt, seed, most, kind))
            if not running:
                return
            done, running = wait(running, return_when=FIRST_COMPLETED)
            yield from (one.result() for one in done)


def tell(one: Attempt, keep: Path | None) -> None:
    """Print what broke, and keep its study."""
    for what in one.broken:
        print(f"seed {one.seed}, {one.kind}: {what}", flush=True)
    if keep is not None and one.broken:
        keep.mkdir(parents=True, exist_ok=True)
        (keep / f"{one.seed}.toml").write_bytes(one.text.encode("utf-8", "surrogateescape"))


def ended() -> int:
    """Print what broke and the table; the status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--seed", type=int, default=1, help="first seed")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--cables", type=int, default=60, help="most cables of a study")
    parser.add_argument("--kind", choices=sorted({*KINDS}), default="", help="attempts of one kind alone")
    parser.add_argument("--only", type=int, help="this seed alone")
    parser.add_argument("--shrink", action="store_true", help="make the study of --only small")
    parser.add_argument("--keep", type=Path, help="folder for the studies that broke")
    parser.add_argument("--smallest", action="store_true", help="a few seconds")
    given = parser.parse_args()
    if given.only is not None:
        one = attempt(given.only, given.cables, given.kind)
        tell(one, given.keep)
        print(shrunk(one, given.cables) if given.shrink and one.broken else one.text)
        return int(bool(one.broken))
    if given.smallest:
        given.cables, given.seed = 3, SMALLEST[0]
    seeds, broke, counts, spent = (
        iter(SMALLEST if given.smallest else range(given.seed, given.seed + 10**9)),
        0,
        Counter[str](),
        dict.fromkeys(KINDS, 0.0),
    )
    refused, longest, late = (Counter[str]() for _ in range(3))
    until = time.perf_counter() + given.seconds
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # the table stands at the end of a stopped run too
    with contextlib.suppress(KeyboardInterrupt):
        for one in attempts(seeds, until, given.jobs, given.cables, given.kind):
            tell(one, given.keep)
            counts[one.kind] += 1
            spent[one.kind] += one.seconds
            longest[one.kind] = max(longest[one.kind], round(one.seconds))
            refused[one.kind] += one.refused
            broke += any(not what.startswith(LONG) for what in one.broken)
            late[one.kind] += any(what.startswith(LONG) for what in one.broken)
    print(f"{'kind':16}{'attempts':>10}{'refused':>10}{'long':>10}{'mean s':>10}{'longest s':>10}")
    for kind in counts:
        print(
            f"{kind:16}{counts[kind]:10d}{refused[kind]:10d}{late[kind]:10d}{spent[kind] / counts[kind]:10.2f}"
            f"{longest[kind]:10d}"
        )
    print(f"{counts.total()} attempts, seeds {given.seed} to {given.seed + counts.total() - 1}, {broke} broke")
    return int(broke > 0)


if __name__ == "__main__":
    sys.exit(ended())
