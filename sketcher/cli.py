"""The command line: one command for each verb. What takes long to import is imported by the command that needs it."""

from __future__ import annotations

import argparse
import errno
import io
import math
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, NoReturn

from sketcher.commands import loop_commands, shop
from sketcher.commands.common import FAILED, FOUND, OK, Stop, answered, document_of, show, told_of
from sketcher.document import Document, DocumentError, schema, write
from sketcher.document.bounded_reading import read_bounded
from sketcher.document.joined import with_drawn_connections
from sketcher.document.out_of_memory import WORDS, out_of_memory, take_room
from sketcher.document.safe_files import check_place


class _Sheets:
    """The sheets' names, asked for only when a sheet is: what makes them takes long to import."""

    def __iter__(self) -> Iterator[str]:
        from sketcher.export import names

        return iter(names())

    def __contains__(self, name: object) -> bool:
        return name in tuple(self)


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code: 0 well, 1 an error was found, 2 it could not be done."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # Into a pipe or a file as well: not every system writes ° by itself there.
            stream.reconfigure(encoding="utf-8", errors="backslashreplace", line_buffering=True)
    options = _parser().parse_args(_with_default(list(sys.argv[1:] if arguments is None else arguments)))
    command: Callable[[argparse.Namespace], int] = options.command
    try:
        take_room()
        return command(options)
    except Stop as stop:
        print(f"plate-sketcher: {stop}", file=sys.stderr)
    except BrokenPipeError:
        sys.stderr.close()
    except KeyboardInterrupt:
        print(file=sys.stderr)
    except Exception as error:
        if os.environ.get("PLATE_SKETCHER_TRACE"):
            raise
        if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
            # Files of their own have said so already: it is what the command says that found no room.
            words = (
                "no room for what it says here; make room where that goes. A file named by -o is whole, or not written."
            )
            print(f"plate-sketcher: {words}", file=sys.stderr)
            return FAILED
        if out_of_memory(error):
            print(f"plate-sketcher: {WORDS} No file was changed.", file=sys.stderr)
            return FAILED
        words = f"the program failed ({type(error).__name__}: {error}); no file was changed."
        print(f"plate-sketcher: {words}\nWith PLATE_SKETCHER_TRACE=1 set it says where.", file=sys.stderr)
    return FAILED


def _with_default(arguments: list[str]) -> list[str]:
    """No command is ``serve``: bare, or with options alone."""
    bare = not arguments or (arguments[0].startswith("-") and arguments[0] not in ("-h", "--help", "--version"))
    return ["serve", *arguments] if bare else arguments


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one line, like every other error here; how it is right stands in the help."""

    def error(self, message: str) -> NoReturn:
        self.exit(FAILED, f"{self.prog}: {message}; see {self.prog} --help\n")


#: Adds a command: its name, what it is about, what runs it.
_Verb = Callable[[str, str, Callable[[argparse.Namespace], int]], argparse.ArgumentParser]


def _parser() -> argparse.ArgumentParser:
    from sketcher import __version__

    parser = _Parser(prog="plate-sketcher", description="Sketches, checks and hands off coolant distribution plates.")
    parser.add_argument("--version", action="version", version=__version__)
    verbs = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")

    def verb(name: str, about: str, command: Callable[[argparse.Namespace], int]) -> argparse.ArgumentParser:
        added = verbs.add_parser(name, help=about, description=about)
        added.set_defaults(command=command)
        return added

    for of_a_kind in (_serving, _looking, _exporting, _fitting, _handing, _comparing, _proposing):
        of_a_kind(verb)
    verb("schema", "print the document's JSON Schema", _schema)
    return parser


def _serving(verb: _Verb) -> None:
    serving = verb("serve", "serve the page, with the demo or with your documents", _serve)
    serving.add_argument("files", nargs="*", type=Path, metavar="FILE")
    serving.add_argument("--port", type=_port, default=None, metavar="N", help="0 takes any free port")
    serving.add_argument("--no-browser", action="store_true", help="do not open the browser")
    serving.add_argument("--data", type=_folder, metavar="DIR", help="where plates are kept")


def _looking(verb: _Verb) -> None:
    for name, about, command in (
        ("check", "say what is wrong with a plate", _check),
        ("flow", "say how a plate flows, and how warm it gets", loop_commands.flow),
        ("survey", "adjust the measured floor", _survey),
        ("sureness", "say how likely it is that every tube lands", _sureness),
    ):
        looking = verb(name, about, command)
        looking.add_argument("file", type=Path, metavar="FILE")
        looking.add_argument("--json", action="store_true", help="answer in JSON")
        if name == "survey":
            looking.add_argument("--add", type=Path, metavar="CSV", help="a table of readings to add first")
            looking.add_argument(
                "--unit",
                choices=("mm", "cm", "in"),
                help="of values in it that name none; without --add every reading of FILE is taken in it",
            )
            looking.add_argument("-o", "--output", type=Path, metavar="NEW", help="write the document with them here")


def _exporting(verb: _Verb) -> None:
    exporting = verb("export", "write a sheet as a file", shop.export)
    exporting.add_argument("file", type=Path, metavar="FILE")
    exporting.add_argument("--sheet", choices=_Sheets(), required=True, metavar="SHEET", help="%(choices)s")
    exporting.add_argument(
        "-o", "--output", type=_named, required=True, metavar="OUT", help="its ending says the kind of file"
    )
    exporting.add_argument("--paper", help="of a PDF: A4, A3 or Letter; without it one page, or A4 for what is printed")
    exporting.add_argument("--dxf", default="R2010", metavar="VERSION", help="R2010, or R12 for old controls")
    exporting.add_argument("--copies", type=int, default=1, metavar="N", help="of a test piece, nested on one sheet")
    exporting.add_argument("--label", default="", help="the revision, scored into the piece")


def _fitting(verb: _Verb) -> None:
    fitting = verb("fit", "work out what a tried test piece showed", _fit)
    fitting.add_argument("file", type=Path, metavar="FILE")
    fitting.add_argument("readings", type=Path, metavar="READINGS.csv")
    fitting.add_argument("-o", "--output", type=_named, metavar="NEW", help="write the moved document")
    fitting.add_argument("--whole", action="store_true", help="follow the whole piece's shift and turn, too")
    fitting.add_argument("--json", action="store_true", help="answer in JSON")


def _handing(verb: _Verb) -> None:
    handing = verb("handoff", "write the package for the shop, or for the builder", shop.handoff)
    handing.add_argument("file", type=Path, metavar="FILE")
    handing.add_argument("-o", "--output", type=_named, required=True, metavar="OUT.zip")
    handing.add_argument("--for", dest="receiver", choices=("shop", "builder"), default="shop", help="%(choices)s")
    handing.add_argument("--label", default="", help="the kept revision; without it the package is marked as a draft")
    handing.add_argument("--dxf", default="R2010", metavar="VERSION", help="R2010, or R12 for old controls")


def _comparing(verb: _Verb) -> None:
    comparing = verb("compare", "compare a returned file with the plate's own", shop.compare)
    comparing.add_argument("file", type=Path, metavar="FILE")
    comparing.add_argument("returned", type=Path, metavar="RETURNED", help="a DXF, SVG or STEP")
    comparing.add_argument("--sheet", choices=_Sheets(), metavar="SHEET", help="what it is; else what it is most like")
    comparing.add_argument("--unit", help="of a drawing that does not say: mm, cm or in")
    comparing.add_argument("--json", action="store_true", help="answer in JSON")


def _proposing(verb: _Verb) -> None:
    proposing = verb("propose", "lay out channels for the loop's connections", _propose)
    proposing.add_argument("file", type=Path, metavar="FILE")
    proposing.add_argument("-o", "--output", type=_named, required=True, metavar="NEW")
    proposing.add_argument("--seed", type=int, default=0, metavar="N", help="the same seed gives the same answer")
    proposing.add_argument("--seconds", type=_seconds, default=10.0, metavar="S", help="the search ends by then")
    proposing.add_argument("--style", choices=("square", "diagonal", "free"), help="of every course; all without it")
    proposing.add_argument("--width", type=_size, metavar="MM", help="of every new channel")
    proposing.add_argument("--depth", type=_size, metavar="MM", help="of every new channel")
    looks = ("parallel", "edges", "symmetry", "drawn")
    proposing.add_argument("--look", choices=looks, help="what makes the courses look alike; one of each without it")
    proposing.add_argument("--line", type=_line, metavar="x=MM", help="mirror about this line: x=200 or y=150")
    proposing.add_argument(
        "--anew",
        action="store_true",
        help="lay channels that are not locked again, too; without connections, what they join",
    )
    proposing.add_argument("--ports", action="store_true", help="first bring every port under its tube")
    proposing.add_argument("--alternative", type=int, default=1, metavar="N", help="write the Nth best; 1 is the best")
    proposing.add_argument("--json", action="store_true", help="answer in JSON")


def _port(text: str) -> int:
    if not text.isdigit() or not 0 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"a port is a number from 0 to 65535, not {text!r}")
    return int(text)


def _line(text: str) -> dict[str, float]:
    name, _, value = text.partition("=")
    try:
        at = float(value)
    except ValueError:
        at = math.nan
    if name not in ("x", "y") or not math.isfinite(at):
        raise argparse.ArgumentTypeError(f"a line is x=200 (front to rear) or y=150 (left to right), not {text!r}")
    return {f"line_{name}_mm": at}


def _seconds(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 0.1 <= value <= 3600:
        raise argparse.ArgumentTypeError(f"a search takes from 0.1 to 3600 seconds, not {text!r}")
    return value


def _size(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 0 < value <= 200:
        raise argparse.ArgumentTypeError(f"a size is from 0 to 200 mm, not {text!r}")
    return value


def _folder(text: str) -> Path:
    if not text.strip():
        raise argparse.ArgumentTypeError(f"plates are kept in a folder, and {text!r} is the name of none")
    return Path(text)


def _named(text: str) -> Path:
    path = Path(text)
    if not path.name:
        raise argparse.ArgumentTypeError(f"a file is written, and {text!r} is the name of none")
    return path


def _serve(options: argparse.Namespace) -> int:
    import platformdirs

    from sketcher.server.serve import USUAL_PORT, serve
    from sketcher.store import StoreError, shipped

    documents, demo = [document_of(path) for path in options.files], document_of(shipped.examples()[shipped.DEMO])
    data = options.data or Path(platformdirs.user_data_dir("plate-sketcher", appauthor=False))
    # The usual port may be taken by a program that is still open; a port that was asked for is not exchanged.
    ports = [USUAL_PORT, 0] if options.port is None else [options.port]
    try:
        for port in ports:
            try:
                serve(documents, data, port, browser=not options.no_browser, demo=demo)
                break
            except OSError as error:
                if port == ports[-1]:
                    raise Stop(f"port {port}: {error.strerror or error}; choose another with --port") from None
    except StoreError as error:
        raise Stop(str(error)) from None
    except KeyboardInterrupt:
        pass
    return OK


def _check(options: argparse.Namespace) -> int:
    from sketcher.checks import check_json, run

    document = document_of(options.file)
    findings = run(document)
    answer = check_json(document, findings)
    if options.json:
        show(answer)
    else:
        for finding in findings:
            at = f" at {finding.at[0]:.1f}, {finding.at[1]:.1f}" if finding.at else ""
            print(f"{finding.level}: {finding.rule}{at}: {finding.message} {finding.remedy}")
            for row in finding.listed:
                at = f" at {row.at[0]:.1f}, {row.at[1]:.1f}" if row.at else ""
                print(
                    f"  {', '.join(row.items)}{at}"
                    + (f": {row.value:.2f} {finding.unit}" if row.value is not None else "")
                )
            if finding.accepted:
                print(f"  accepted: {finding.accepted}")
        for question in answer["questions"]:
            for sentence in question["not_looked_at"]:
                print(f"not looked at ({question['question']}): {sentence}")
        counts = answer["counts"]
        print(
            "Nothing to check yet: nothing is cut into the plate."
            if answer["empty"]
            else ", ".join(f"{count} {level}{'' if count == 1 else 's'}" for level, count in counts.items())
        )
    return FOUND if any(finding.open_error for finding in findings) else OK


def _survey(options: argparse.Namespace) -> int:
    from sketcher.survey.adjusted import adjust

    document = _with_readings(document_of(options.file), options)
    try:
        answer = adjust(document).as_json()
    except DocumentError as error:
        raise Stop(f"{options.file}: {error}") from None
    answered(answer, _survey_words(answer), options.json)
    return OK


def _with_readings(document: Document, options: argparse.Namespace) -> Document:
    """The document with the readings of ``--add``, or all of its own in ``--unit``, written to ``-o`` if given."""
    from sketcher.document import with_changes
    from sketcher.importing.readings_table import LARGEST_BYTES, ReadingsError, add, read_table
    from sketcher.survey.whole_units import in_unit

    if options.add is None:
        if options.unit is not None:
            document = with_changes(document, survey=in_unit(document.survey, options.unit))
        elif options.output is not None:
            raise Stop(f"{options.output}: there is nothing to write without --add or --unit; name a table of readings")
        return _written(document, options)
    try:
        with told_of(options.add, "name a table of readings"):
            text = read_bounded(options.add, LARGEST_BYTES).decode("utf-8-sig")
        table = read_table(text, document.survey, unit=options.unit or "mm")
        document = with_changes(document, survey=add(document.survey, table))
    except UnicodeDecodeError as error:
        raise Stop(f"{options.add}: the file is no UTF-8 text (byte {error.start}); save it as UTF-8 CSV") from None
    except (ReadingsError, DocumentError) as error:
        raise Stop(f"{options.add}: {error}") from None
    return _written(document, options)


def _written(document: Document, options: argparse.Namespace) -> Document:
    """The document, written to ``-o`` when that is given."""
    if options.output is not None:
        with told_of(options.output):
            write(_followed(document), options.output, [file for file in (options.file, options.add) if file])
    return document


def _followed(document: Document) -> Document:
    """The document with what is tied to survey points moved along; as it is where the survey cannot be adjusted."""
    from sketcher.survey.adjusted import adjust
    from sketcher.survey.ties import follow

    try:
        followed = follow(document, adjust(document))
    except DocumentError:
        return document  # the answer itself says what is wrong
    for move in followed.moves:
        turn = f", turned {move.turn_deg:+.2f} degrees" if abs(move.turn_deg) >= 0.005 else ""
        print(f"{move.item} moved with the survey by {move.dx_mm:+.2f}, {move.dy_mm:+.2f} mm{turn}", file=sys.stderr)
    for item, why in followed.kept.items():
        print(f"{item} stays where it is: {why}", file=sys.stderr)
    return followed.document


def _survey_words(answer: dict[str, Any]) -> Iterator[str]:
    if not answer["points"]:
        yield "Nothing was measured: the document has no survey."
    for point in answer["points"]:
        if point["loose"]:
            yield f"  {point['id']:<6} is held by no reading"
            continue
        x, y = (f"{point[f'{axis}_mm']:9.2f} ± {point[f'sigma_{axis}_mm']:.2f}" for axis in "xy")
        sizes = [
            f"{size} {point[f'{size}_mm']:.2f} ± {point[f'sigma_{size}_mm']:.2f}"
            for size in ("diameter", "height")
            if point.get(f"{size}_mm") is not None
        ]
        yield "  ".join([f"  {point['id']:<6} x {x}  y {y} mm", *sizes])
    for row in answer["readings"]:
        if row["adjusted_mm"] is None:
            continue
        off = f"off by {row['residual_mm']:+.2f}" + ("  SUSPECT" if row["suspect"] else "")
        yield f"  {row['id']:<6} read {row['measured_mm']:9.2f}  adjusted {row['adjusted_mm']:9.2f} mm  {off}"
    yield from answer["messages"]


def _sureness(options: argparse.Namespace) -> int:
    from sketcher.sureness.assessment import assess
    from sketcher.sureness.wording import lines

    document = document_of(options.file)
    try:
        sure = assess(document)
    except DocumentError as error:
        raise Stop(f"{options.file}: {error}") from None
    answered(sure.as_json(), lines(sure), options.json)
    return OK


def _fit(options: argparse.Namespace) -> int:
    from sketcher.trial.analysis import apply, judge
    from sketcher.trial.readings_csv import ReadingsError, read_file

    document = document_of(options.file)
    try:
        trial = judge(document, read_file(options.readings, [port.id for port in document.ports]))
    except (ReadingsError, ValueError) as error:
        raise Stop(f"{options.readings}: {error}") from None
    except OSError as error:
        raise Stop(f"{options.readings}: {error.strerror or error}; name a CSV of readings") from None
    if options.output is not None:
        with told_of(options.output):
            write(apply(document, trial, whole=options.whole), options.output, [options.file, options.readings])
    answered(trial.as_json(), trial.messages, options.json)
    return OK


def _propose(options: argparse.Namespace) -> int:
    from sketcher.proposing.outcome import as_json, in_words
    from sketcher.proposing.search import propose
    from sketcher.proposing.wishes import Wishes

    document = document_of(options.file)
    with told_of(options.output):
        check_place(options.output, [options.file])
    if options.ports:
        document = _under_tubes(document)
        if not document.loop.connections:
            with told_of(options.output):
                write(document, options.output, [options.file])
            return OK
    if options.anew:
        document = with_drawn_connections(document)
    if not document.loop.connections:
        raise Stop(f"{options.file}: /loop/connections is empty; list the ports that channels are to join")
    wishes = Wishes(
        style=options.style,
        width_mm=options.width,
        depth_mm=options.depth,
        anew=options.anew,
        look=options.look or ("symmetry" if options.line else None),
        **(options.line or {}),
        seed=options.seed,
        seconds=options.seconds,
    )
    found = propose(document, wishes)
    answer = as_json(found, document)
    offered = found.passing or found.drafts
    if not 1 <= options.alternative <= len(offered):
        raise Stop(f"--alternative {options.alternative}: choose one of 1 to {len(offered)}")
    chosen = offered[options.alternative - 1]
    with told_of(options.output):
        write(chosen.document, options.output, [options.file])
    answered(answer, in_words(answer), options.json)
    if chosen.passes:
        return OK
    print(f"{options.output} is a draft that does not pass the rules, not a solution.", file=sys.stderr)
    return FOUND


def _under_tubes(document: Document) -> Document:
    """The document with its ports under the tubes; what was done is said on stderr."""
    from sketcher.proposing.port_places import in_words, ports_under_tubes

    done = ports_under_tubes(document)
    print("\n".join(in_words(done)), file=sys.stderr)
    return done.document


def _schema(options: argparse.Namespace) -> int:
    show(schema())
    return OK
