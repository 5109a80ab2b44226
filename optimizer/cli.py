"""The command line: arguments, progress, printing, exit codes; nothing else.

Heavy rooms are imported inside the commands, so that ``--help`` answers at once.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Annotated, Final, NoReturn

import typer

from optimizer.cli_compare import compare
from optimizer.cli_documents import documents
from optimizer.cli_drawings import drawings
from optimizer.cli_fit import measure_here, spares
from optimizer.cli_ground import ground, survey_sheet
from optimizer.cli_offer import offer
from optimizer.cli_page import page
from optimizer.cli_price import take_off
from optimizer.cli_report import report
from optimizer.cli_words import Exit, Pages, Pictures, SchemaName, Switch
from optimizer.errors import DrawingError, EvenfallError, Fault, InputError, InternalError, OutputError

if TYPE_CHECKING:
    from optimizer.plan import Candidate, RuleSetRecord

#: A command typed wrongly.  Its own exit code, 2, would say that there is no layout.
UsageError: type[Exception] = typer.BadParameter.__bases__[0]
STOPPED: Final = "Stopped before there was anything to write."


#: What an earlier plan left in the folder: pictures and model, by the names the viewer gives them.
EARLIER_RESULTS = ("candidate-*-overview.png", "candidate-*-street.png", "model.glb")


app = typer.Typer(
    name="evenfall",
    help="Plan modular access ramps on sloping ground: layouts, leg heights, prices, findings, pictures.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def say(text: str) -> None:
    """Progress and messages go to standard error; standard output is for results."""
    typer.echo(text, err=True)


@app.command(epilog="Example: evenfall plan scenes/fall-to-street --out out/fall-to-street")
def plan(
    site: Annotated[Path, typer.Argument(help="folder of the site, or its site.toml")],
    out: Annotated[Path, typer.Option(help="folder for plan.json, pictures and model")] = Path("out"),
    time_limit: Annotated[
        float | None, typer.Option(help="seconds of search; the best so far is given with its gap")
    ] = None,
    pictures: Annotated[Pictures, typer.Option(help="draw pictures and a GLB model, or none")] = Pictures.ALL,
    price_constraints: Annotated[
        Switch, typer.Option(help="also find what each obstacle, zone, wish and limit costs")
    ] = Switch.OFF,
    json: Annotated[bool, typer.Option("--json", help="print the plan as JSON instead of tables")] = False,
) -> None:
    """The main job: survey to ranked candidates, findings, prices and pictures."""
    from optimizer.brief.read_site import read_site
    from optimizer.written_files import prepare_folder, remove_earlier

    if time_limit is not None and not time_limit > 0.0:
        raise_argument("--time-limit", f"{time_limit:g} s is no time.", "Give seconds above 0.")
    found_site = read_site(site)
    prepare_folder(out)

    # Only now what takes seconds to load: bad input is told at once.
    from optimizer.pipeline import limit_search_time, make_plan
    from optimizer.plan_file import format_plan, write_plan
    from optimizer.plan_table import draw_plan, measure_page_width
    from optimizer.progress import Progress
    from optimizer.run_record import write_run_record

    progress = Progress(say)
    if time_limit is not None:
        found_site = limit_search_time(found_site, time_limit)
    progress.note("searching; the first run ever also compiles the search (a minute or so)")
    made = make_plan(found_site, progress.tell, prices=price_constraints.value)
    # Pictures of an earlier plan must not lie beside this one.
    remove_earlier(out, EARLIER_RESULTS)
    write_plan(made, out / "plan.json")
    write_run_record(out, progress.seconds, site)
    typer.echo(format_plan(made) if json else draw_plan(made, found_site, measure_page_width()))
    say(f"written: {out / 'plan.json'}")
    if made.candidates and pictures is Pictures.ALL:
        progress.note("drawing")
        for note in draw_pictures(out, site):
            say(note)
    raise typer.Exit(find_exit(made.candidates, made.rules))


def draw_pictures(out: Path, site: Path) -> tuple[str, ...]:
    """Draw stills and the model; what cannot be drawn is named with what would mend it."""
    from viewer.glb import write_plan_glb
    from viewer.stills import write_stills

    notes = []
    try:
        notes.append(f"written: {write_plan_glb(out / 'plan.json', site, out)}")
        notes += [f"written: {path}" for path in write_stills(out / "plan.json", site, out)]
    except DrawingError as error:
        notes.append(f"no pictures of the candidates: {error}")
    except KeyboardInterrupt:
        notes.append("no pictures of the candidates: stopped")
    return tuple(notes)


def find_exit(candidates: Sequence[Candidate], rules: tuple[RuleSetRecord, ...]) -> Exit:
    """0 something allowed, 1 every layout fails what binds or one of our own checks, 2 none."""
    from optimizer.findings_report import is_broken

    if not candidates:
        return Exit.NO_LAYOUT
    if all(is_broken(one.findings, rules) for one in candidates):
        return Exit.ALL_FAIL
    return Exit.ALLOWED


app.command(epilog="Example: evenfall ground scenes/phone-scan --out out/phone-scan")(ground)
app.command(name="survey-sheet", epilog="Example: evenfall survey-sheet --blank --out out/visit")(
    survey_sheet
)


@app.command(epilog="Example: evenfall check out/fall-to-street/plan.json")
def check(
    file: Annotated[Path, typer.Argument(help="plan.json, or a layout typed by hand (LAYOUT.toml)")],
    site: Annotated[
        Path | None, typer.Option(help="folder of the plan's site, when it has moved since the plan was made")
    ] = None,
    candidate: Annotated[
        int | None, typer.Option(help="only this candidate of a plan, counted from 1")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="print the report as JSON")] = False,
    report: Annotated[Path | None, typer.Option(help="also write the report there, as JSON")] = None,
    as_drawn: Annotated[
        str | None,
        typer.Option(
            metavar="[MODEL.glb]",
            help="measure the exported model against the plan instead; alone: the one beside it",
        ),
    ] = None,
) -> None:
    """Measure a saved plan, or a layout typed by hand, against its rules again."""
    if as_drawn is not None:
        if site is not None or file.suffix == ".toml":
            raise_argument("--as-drawn", "compares a model with a plan.json alone.", "Name only those two.")
        page = Pages.JSON if json else Pages.TEXT
        raise typer.Exit(audit_as_drawn(file, as_drawn, candidate, report, page))
    from optimizer.check_again import check_layout_file, check_plan_file
    from optimizer.findings_report import build_report, format_report, write_report
    from optimizer.findings_table import draw_report
    from optimizer.plan_table import measure_page_width

    if file.suffix == ".toml":
        for option, value in (("--site", site), ("--candidate", candidate)):
            if value is not None:
                raise_argument(option, "a layout file names its own site and one layout.", "Leave it out.")
        checked = check_layout_file(file)
    else:
        checked = check_plan_file(file, site, candidate)
    found = build_report(checked.site, checked.candidates)
    if report is not None:
        write_report(found, report)
        say(f"written: {report}")
    width = measure_page_width()
    typer.echo(format_report(found) if json else draw_report(found, checked.site, checked.candidates, width))
    raise typer.Exit(find_exit(checked.candidates, found.rules))


def audit_as_drawn(file: Path, model: str, candidate: int | None, report: Path | None, page: Pages) -> Exit:
    """Audit an exported model; 0 when every finding agrees, else 1."""
    from optimizer.audit.audit_model import audit_model
    from optimizer.audit.find_model import find_model
    from optimizer.audit_table import draw_audit, format_audit, write_audit
    from optimizer.plan_file import read_plan
    from optimizer.plan_table import measure_page_width

    found = audit_model(read_plan(file), find_model(file, model), candidate)
    if report is not None:
        write_audit(found, report)
        say(f"written: {report}")
    typer.echo(format_audit(found) if page is Pages.JSON else draw_audit(found, measure_page_width()))
    return Exit.ALLOWED if found.agrees else Exit.ALL_FAIL


@app.command(epilog="Example: evenfall view out/fall-to-street/plan.json")
def view(
    file: Annotated[Path, typer.Argument(help="plan.json")],
    site: Annotated[
        Path | None, typer.Option(help="folder of the plan's site, when it has moved since the plan was made")
    ] = None,
    candidate: Annotated[int, typer.Option(help="candidate to show first, counted from 1")] = 1,
) -> None:
    """Turn a plan about in a window."""
    from optimizer.check_again import read_plan_site
    from optimizer.plan_file import read_plan
    from viewer.window import show_window

    made = read_plan(file)
    found_site = read_plan_site(made, file, site)
    if not 1 <= candidate <= len(made.candidates):
        raise_argument(
            "--candidate", f"{candidate} is not a candidate.", f"The plan has 1 to {len(made.candidates)}."
        )
    show_window(made, found_site, candidate - 1)


app.command(epilog="Example: evenfall documents out/fall-to-street/plan.json --paper letter")(documents)
app.command(epilog="Example: evenfall drawings out/fall-to-street/plan.json --paper us")(drawings)
app.command(epilog="Example: evenfall page out/fall-to-street/plan.json --language es")(page)
app.command(epilog="Example: evenfall spares out/fall-to-street/plan.json --share 0.95")(spares)
app.command(name="measure-here", epilog="Example: evenfall measure-here out/fall-to-street/plan.json")(
    measure_here
)
app.command(epilog="Example: evenfall compare out/fall-to-street/plan.json --study slope")(compare)
app.command(name="take-off", epilog="Example: evenfall take-off out/fall-to-street/plan.json")(take_off)
app.command(epilog="Example: evenfall report out/fall-to-street/plan.json")(report)
app.command(epilog="Example: evenfall offer out/fall-to-street/plan.json --valid-days 30")(offer)


@app.command(
    epilog='Example: evenfall rough --steps 4 --riser "7 in" --fall "3 %" --depth "40 ft" --width "30 ft"'
)
def rough(
    rise: Annotated[str | None, typer.Option(help="threshold above the ground at the door")] = None,
    steps: Annotated[int | None, typer.Option(help="number of steps at the door, instead of --rise")] = None,
    riser: Annotated[str, typer.Option(help="height of one step")] = "7 in",
    fall: Annotated[str, typer.Option(help="fall of the ground away from the door (- rises)")] = "0 %",
    fall_along: Annotated[str, typer.Option(help="fall along the wall, the way the ramp would go")] = "0 %",
    depth: Annotated[str | None, typer.Option(help="free ground straight out from the wall")] = None,
    width: Annotated[
        str | None, typer.Option(help="free ground along the wall from the door's middle")
    ] = None,
    rules: Annotated[
        str, typer.Option(help="rule set, or a slope such as 1:10 as your own limit")
    ] = "ada-2010",
    fact: Annotated[
        list[str] | None, typer.Option(help="what the rule set asks, such as works=new; may be repeated")
    ] = None,
) -> None:
    """A first answer from a few numbers over the telephone: what fits, how long, roughly what price."""
    from optimizer.rough_question import answer_rough

    typer.echo(answer_rough(rise, steps, riser, fall, fall_along, depth, width, rules, fact or ()))


@app.command(epilog="Example: evenfall schema site")
def schema(
    name: Annotated[SchemaName, typer.Argument(help="which file's schema")],
) -> None:
    """Print the JSON Schema of a file that is read or written."""
    from optimizer.schemas import format_named_schema

    typer.echo(format_named_schema(name.value), nl=False)


@app.command(epilog="Example: evenfall rules ada-2010")
def rules(
    name: Annotated[str | None, typer.Argument(help="a rule set's id; left out: every rule set")] = None,
    table: Annotated[
        bool, typer.Option("--table", help="print what is enforced, quantity by quantity, as Markdown")
    ] = False,
) -> None:
    """List the rule sets, or the clauses of one with how each is known."""
    from optimizer.plan_table import measure_page_width
    from optimizer.rules_table import draw_clauses, draw_coverage, draw_rule_sets

    if table and name is not None:
        raise_argument("--table", "the table is of every rule set.", "Leave the id out.")
    width = measure_page_width()
    if table:
        typer.echo(draw_coverage(), nl=False)
    else:
        typer.echo(draw_rule_sets(width) if name is None else draw_clauses(name, width))


@app.command(epilog="Example: evenfall doctor")
def doctor() -> None:
    """What this machine can draw, and what would mend it."""
    from optimizer.doctor import draw_doctor
    from viewer.probe import find_drawing_fault

    typer.echo(draw_doctor(find_drawing_fault()))


def raise_argument(option: str, what: str, remedy: str) -> NoReturn:
    """A wrong argument is bad input like any other."""
    raise InputError(Fault(option, what, remedy))


def main() -> None:
    """Run a command; every error on purpose becomes a message and an exit code.

    What nobody foresaw still shows its traceback, but never the exit code of a finished plan.
    """
    sys.excepthook = show_fault
    sys.exit(run_command(sys.argv[1:]))


def show_fault(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
    """The last resort: the traceback, and exit code 4."""
    sys.__excepthook__(kind, error, trace)
    sys.stderr.flush()
    os._exit(Exit.INTERNAL)


def fill_bare_option(arguments: Sequence[str]) -> list[str]:
    """``--as-drawn`` may stand alone: followed by nothing, by an option or by the plan."""
    filled = list(arguments)
    for place, (word, after) in enumerate(pairwise([*arguments, "-"])):
        if word == "--as-drawn" and (after.startswith("-") or after.endswith(".json")):
            filled[place] = "--as-drawn="
    return filled


def run_command(arguments: Sequence[str]) -> int:
    """Run one command line and return its exit code."""
    try:
        code: object = app(fill_bare_option(arguments), standalone_mode=False)
    except UsageError as error:
        error.show()  # type: ignore[attr-defined]  # typer does not publish this class
        return Exit.BAD_INPUT
    except (InputError, OutputError, DrawingError) as error:
        say(str(error))
        return Exit.BAD_INPUT
    except (KeyboardInterrupt, typer.Abort):
        say(STOPPED)
        return Exit.INTERRUPTED
    except InternalError as error:
        say(f"This is a fault in Evenfall, not in your files: {error}")
        return Exit.INTERNAL
    except EvenfallError as error:
        say(str(error))
        return Exit.INTERNAL
    if code == Exit.INTERRUPTED:
        say(STOPPED)
    return code if isinstance(code, int) else Exit.ALLOWED


if __name__ == "__main__":
    main()
