"""The command line: the same services as the screens, no logic of its own."""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import sys
import tempfile
import threading
import webbrowser
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from journal_server import __version__
from journal_server.domain.roles import OWNER, ROLES
from journal_server.errors import InputRefused, JournalError, PhotoRefused
from journal_server.keeping_calls import add_keeping_calls
from journal_server.leaving_calls import add_leaving_calls
from journal_server.numbers_calls import add_numbers_calls
from journal_server.report_calls import add_report_calls
from journal_server.running_calls import add_running_calls
from journal_server.services.journal import Journal, open_journal
from journal_server.serving.logs import FORMS, begin_logs
from journal_server.terminal import COULD_NOT_RUN, DONE, SOME_REFUSED, complain, opened_journal, progress, write_file

if TYPE_CHECKING:
    from journal_server.services.backup.schedule import BackupKeeper
    from journal_server.services.measuring import MeasuringRoom
    from journal_server.serving.lan import LanOptions
    from journal_server.serving.server import JournalServer


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one call; returns the exit status (0 done, 1 some inputs refused, 2 could not run)."""
    given = _parser().parse_args(arguments)
    try:
        status: int = given.run(given)
        return status
    except JournalError as error:
        complain(str(error))
        return COULD_NOT_RUN
    except KeyboardInterrupt:
        complain("Stopped. What was finished is kept; run the same command again to go on.")
        return COULD_NOT_RUN
    except BrokenPipeError:
        # Whoever read the output has gone; nothing is wrong with the journal.
        sys.stdout = open(os.devnull, "w")  # noqa: SIM115, PTH123
        return DONE


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="journal-server", description="The planting trial journal.")
    parser.add_argument("--version", action="version", version=f"journal-server {__version__}")
    calls = parser.add_subparsers(required=True, metavar="CALL")

    def call(
        name: str, run: Callable[[argparse.Namespace], int], help: str, data: bool = True
    ) -> argparse.ArgumentParser:
        sub = calls.add_parser(name, help=help, description=help)
        sub.set_defaults(run=run)
        if data:
            sub.add_argument("--data", type=Path, metavar="DIR", help="the journal's folder")
            sub.add_argument("--database", metavar="URL", help="a database URL instead of SQLite in the folder")
            sub.add_argument("--photos", metavar="URL", help="keep photos in an S3-compatible store (s3://bucket/name)")
        return sub

    demo = call("demo", _demo, "Make a journal with the sample photos, measure them and serve it.")
    serve = call("serve", _serve, "Serve your own journal.")
    for server in (demo, serve):
        server.add_argument("--port", type=int, metavar="N", help="default: 8765; 0 takes any free one")
        server.add_argument("--no-browser", action="store_true", help="do not open a browser")
        server.add_argument("--log", choices=FORMS, help="a line for each request too, on standard error")
    serve.add_argument(
        "--workers",
        metavar="N-OR-ADDRESS",
        help="measure on N processes of this computer (0: leave it to other servers of the same database), or on the "
        "dask cluster of a scheduler (tcp://host:8786)",
    )
    _add_lan_options(serve)
    pair = call("pair", _pair, "Make a code that lets one device in, within ten minutes.")
    pair.add_argument("--role", choices=ROLES[::-1], default=OWNER, help="what the device may do; default: owner")
    add = call("add", _add, "Take photos in: read moment and card, match, measure.")
    add.add_argument("paths", nargs="+", type=Path, metavar="PHOTO-OR-FOLDER")
    add.add_argument("--no-measuring", action="store_true", help="leave the measuring to the server")
    measure = call("measure", _measure, "Measure photos without a journal.", data=False)
    measure.add_argument("photos", nargs="+", type=Path, metavar="PHOTO")
    measure.add_argument("--frame", help='corners in displayed pixels: "x,y x,y x,y ..."')
    measure.add_argument("--bloom-colour", action="append", default=[], metavar="#rrggbb")
    measure.add_argument("--foliage-colour", action="append", default=[], metavar="#rrggbb")
    measure.add_argument("--plants", type=int, metavar="N")
    measure.add_argument("--json", action="store_true", help="one JSON object a line")
    add_numbers_calls(call)
    cards = call("cards", _cards, "The printed cards, true to size.")
    cards.add_argument("--pdf", type=Path, required=True, metavar="FILE")
    cards.add_argument("--paper", choices=("a4", "letter"))
    cards.add_argument("--spare", type=int, default=0, metavar="N", help="N cards with fresh codes for later plantings")
    cards.add_argument("--only-spare", action="store_true", help="leave out the cards of the plantings")
    add_leaving_calls(call)
    add_keeping_calls(call)
    add_report_calls(call)
    add_running_calls(call)
    return parser


def _add_lan_options(serve: argparse.ArgumentParser) -> None:
    lan = serve.add_argument_group("other devices", "With --lan the ports after --port are used too: N+1 and N+2.")
    lan.add_argument("--lan", action="store_true", help="let paired devices in the home network in, over https")
    lan.add_argument("--cert", type=Path, metavar="FILE", help="a certificate of your own (PEM, with its chain)")
    lan.add_argument("--key", type=Path, metavar="FILE", help="the key of that certificate (PEM, no passphrase)")
    lan.add_argument(
        "--address",
        action="append",
        default=[],
        metavar="HOST",
        help="the address or name by which devices reach this computer, where it does not find that out by itself",
    )
    lan.add_argument(
        "--plain-http",
        action="store_true",
        help="no certificate: anyone in the network can read along, and the live camera and working without a "
        "signal do not work",
    )


def _demo(given: argparse.Namespace) -> int:
    from journal_server.app import create_app
    from journal_server.packaged import packaged_folder
    from journal_server.services.backup.schedule import BackupKeeper
    from journal_server.services.demo import fill_demo, write_demo_verdicts
    from journal_server.services.measuring import MeasuringRoom
    from journal_server.services.serving_alone import alone_with
    from journal_server.serving.serve import listen_on_loopback

    begin_logs(given.log)
    folder = given.data or Path(tempfile.mkdtemp(prefix="planting-trial-demo-"))
    print(f"The demo journal is in {folder}")
    journal = open_journal(folder, given.database, given.photos)
    with contextlib.closing(journal), alone_with(journal):
        room, keeper = MeasuringRoom(journal), BackupKeeper(journal)
        app = create_app(journal, room, backups_keeper=keeper)
        server = listen_on_loopback(given.port, app, or_any=True)
        sample = packaged_folder("sample_photos")
        fill_demo(journal, sample, progress("Taking photos in"))
        MeasuringRoom(journal).run_until_done(progress("Measuring"))
        write_demo_verdicts(journal, sample)
        _serve_journal([server], room, keeper, given.no_browser)
    return DONE


def _serve(given: argparse.Namespace) -> int:
    from journal_server.app import create_app
    from journal_server.services.backup.schedule import BackupKeeper
    from journal_server.services.measuring import MeasuringRoom
    from journal_server.services.measuring_pool import chosen_workers
    from journal_server.services.serving_alone import alone_with
    from journal_server.serving.serve import listen_on_loopback

    begin_logs(given.log)
    options = _lan_options(given)
    opened = opened_journal(given, may_begin=True)
    with opened as journal, alone_with(journal), chosen_workers(given.workers) as workers:
        room, keeper = MeasuringRoom(journal, workers), BackupKeeper(journal)
        if options is None:
            own = listen_on_loopback(given.port, create_app(journal, room, backups_keeper=keeper))
            _serve_journal([own], room, keeper, given.no_browser)
        else:
            _serve_lan(given, options, journal, room, keeper)
    return DONE


def _serve_lan(
    given: argparse.Namespace, options: LanOptions, journal: Journal, room: MeasuringRoom, keeper: BackupKeeper
) -> None:
    from journal_server.app import create_app
    from journal_server.services.pairing import make_pairing_code
    from journal_server.serving.lan import announcement, open_lan
    from journal_server.serving.serve import DEFAULT_PORT, listen_on_loopback

    port = DEFAULT_PORT if given.port is None else given.port
    lan = open_lan(
        journal.folder,
        options,
        port and port + 1,
        lambda door: create_app(journal, room, backups_keeper=keeper, door=door, keyed=True),
        lambda words: print(words, flush=True),
    )
    with lan:
        own = listen_on_loopback(given.port, create_app(journal, room, backups_keeper=keeper, door=lan.door))
        # Where this is written to a file or a log, a code would stay there.
        code = make_pairing_code(journal, OWNER, datetime.now(UTC)) if sys.stdout.isatty() else None
        _serve_journal([own, *lan.servers], room, keeper, given.no_browser, announcement(lan.door, code))


def _lan_options(given: argparse.Namespace) -> LanOptions | None:
    from journal_server.serving.lan import LanOptions

    if not given.lan:
        for option in ("cert", "key", "address", "plain_http"):
            if getattr(given, option):
                raise InputRefused(f"--{option.replace('_', '-')} is for other devices; it goes with --lan.")
        return None
    if bool(given.cert) != bool(given.key):
        raise InputRefused("--cert and --key go together: a certificate is of no use without its key.")
    if given.cert and given.plain_http:
        raise InputRefused("--plain-http uses no certificate; leave it or --cert and --key out.")
    certificate = (given.cert, given.key) if given.cert else None
    return LanOptions(tuple(given.address), certificate, given.plain_http)


def _pair(given: argparse.Namespace) -> int:
    from journal_server.domain.pairing_codes import spaced
    from journal_server.services.pairing import make_pairing_code

    with opened_journal(given) as journal:
        made = make_pairing_code(journal, given.role, datetime.now(UTC))
    print(f"Pairing code: {spaced(made.code)}   (lets one device in as {made.role}, within ten minutes)")
    return DONE


def _serve_journal(
    servers: Sequence[JournalServer],
    room: MeasuringRoom,
    keeper: BackupKeeper,
    no_browser: bool,
    more_words: str = "",
) -> None:
    from journal_server.services.ready_ahead import ReadyAhead
    from journal_server.serving.serve import serve_until_stopped

    ahead = ReadyAhead(keeper.journal)
    room.start()
    keeper.start()
    ahead.start()
    address = f"http://127.0.0.1:{servers[0].port}/"
    print(f"The journal is at {address}  (Ctrl-C ends it)", more_words, sep="\n" if more_words else "", flush=True)
    if not no_browser:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    try:
        serve_until_stopped(servers)
    finally:
        ahead.stop()
        keeper.stop()
        room.stop()


def _add(given: argparse.Namespace) -> int:
    from journal_server.services.measuring import MeasuringRoom
    from journal_server.services.take_in_photo import take_in_file

    files = [file for path in given.paths for file in _files(path)]
    refused: list[tuple[Path, str]] = []
    outcomes: list[tuple[Path, str, str]] = []
    with opened_journal(given, may_begin=True) as journal:
        tell = progress("Taking photos in")
        for done, file in enumerate(files):
            try:
                taken = take_in_file(journal, file)
                outcomes.append((file, taken.photo.id, taken.outcome))
            except PhotoRefused as error:
                refused.append((file, str(error)))
            tell(done + 1, len(files))
        if not given.no_measuring:
            MeasuringRoom(journal).run_until_done(progress("Measuring"))
        _report(journal, outcomes)
    for file, reason in refused:
        complain(f"{file}: refused. {reason}")
    counts = {name: sum(o[2] == name for o in outcomes) for name in ("taken in", "already here")}
    print(f"{counts['taken in']} taken in, {counts['already here']} already here, {len(refused)} refused.")
    return SOME_REFUSED if refused else DONE


def _files(path: Path) -> Iterator[Path]:
    if not path.exists():
        yield path  # refused by name where it is opened
    elif path.is_dir():
        yield from sorted(p for p in path.rglob("*") if p.is_file() and not p.name.startswith("."))
    else:
        yield path


def _report(journal: Journal, outcomes: list[tuple[Path, str, str]]) -> None:
    from journal_server.services.intake_report import describe_intake

    lines = describe_intake(journal, [(file.name, photo_id, outcome) for file, photo_id, outcome in outcomes])
    print(*lines, "", sep="\n")


def _measure(given: argparse.Namespace) -> int:
    from journal_server.measurement import measure_photo
    from journal_server.services.intake_report import describe_numbers

    frame = _parse_frame(given.frame) if given.frame else None
    status = DONE
    for path in given.photos:
        try:
            measured = measure_photo(
                path,
                frame=frame,
                bloom_colours=_colours(given.bloom_colour, "--bloom-colour"),
                foliage_colours=_colours(given.foliage_colour, "--foliage-colour"),
                plants=given.plants,
            ).as_dict()
        except PhotoRefused as error:
            complain(f"{path}: refused. {error}")
            status = SOME_REFUSED
            continue
        print(json.dumps(measured) if given.json else f"{path.name}: {describe_numbers(measured)}", flush=True)
    return status


def _parse_frame(text: str) -> list[tuple[float, float]]:
    from journal_server.domain.field_checks import polygon

    try:
        corners = [[float(n) for n in corner.split(",")] for corner in text.split()]
    except ValueError:
        raise InputRefused(f'The frame must look like "10,20 300,20 300,200", not {text[:80]!r}.') from None
    return [(x, y) for x, y in polygon(corners)]


def _colours(given: list[str], option: str) -> list[str]:
    from journal_server.domain.field_checks import colours

    try:
        return colours(given)
    except InputRefused as error:
        raise InputRefused(f"{option}: {error}") from None


def _cards(given: argparse.Namespace) -> int:
    from journal_server.services.cards import choose_cards, print_cards

    with opened_journal(given) as journal:
        cards = choose_cards(journal, [] if given.only_spare else None, spare=given.spare)
        write_file(given.pdf, print_cards(journal, cards, given.paper))
    print(f"{len(cards)} cards written to {given.pdf}. Print at 100 %, not fitted to the page, on matt paper.")
    return DONE


def run() -> NoReturn:
    sys.exit(main())
