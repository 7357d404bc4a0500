"""A phone on the network, over https: it is let in by a code, works, and is shut out."""

from __future__ import annotations

import base64
import contextlib
import hashlib
import os
import re
import shutil
import subprocess
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from browser.conftest import FLAGS
from browser.records import make, make_planting, records
from browser.serving import PHONE
from browser.test_accessibility import violations
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from playwright.sync_api import Browser, BrowserContext, Error, Page, Playwright, expect

from journal_server.app import create_app
from journal_server.services.certificates import Certificate, _authority, _issue, home_certificate
from journal_server.services.devices import devices
from journal_server.services.journal import Journal, open_journal
from journal_server.services.lan_door import LanDoor
from journal_server.services.pairing import make_pairing_code
from journal_server.serving.server import JournalServer, listen
from journal_server.serving.trust_page import create_trust_page

HERE = "127.0.0.1"


@dataclass
class Network:
    """A journal served to its own computer and, with a key, to phones."""

    journal: Journal
    own: str
    lan: str
    trust: str
    certificate: Certificate


@contextlib.contextmanager
def serving(*servers: JournalServer) -> Iterator[None]:
    threads = [threading.Thread(target=server.serve, daemon=True) for server in servers]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        for server, thread in zip(servers, threads, strict=True):
            server.stop()
            thread.join()


@pytest.fixture
def network(tmp_path: Path) -> Iterator[Network]:
    certificate = home_certificate(tmp_path / "certificates", [HERE], datetime.now(UTC))
    door = LanDoor("https", 0, [HERE], authority=certificate.authority, names=list(certificate.names))
    with contextlib.closing(open_journal(tmp_path / "journal")) as journal:
        journal.change_settings({"time_zone": "Europe/Paris"})
        lan = listen(create_app(journal, door=door, keyed=True), HERE, 0, certificate)
        trust = listen(create_trust_page(door), HERE, 0)
        own = listen(create_app(journal, door=door), HERE, 0)
        door.port, door.trust_port = lan.port, trust.port
        with serving(own, lan, trust):
            address = f"http://{HERE}"
            yield Network(
                journal, f"{address}:{own.port}", f"https://{HERE}:{lan.port}", f"{address}:{trust.port}", certificate
            )


def key_hash(certificate: Certificate) -> str:
    shown = x509.load_pem_x509_certificate(certificate.chain_file.read_bytes()).public_key()
    der = shown.public_bytes(serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo)
    return base64.b64encode(hashlib.sha256(der).digest()).decode()


@pytest.fixture
def trusting_phone(playwright_driver: Playwright, chromium: str, network: Network) -> Iterator[BrowserContext]:
    """A browser that takes this one server's key for trusted, as if its authority had been installed."""
    trusted = f"--ignore-certificate-errors-spki-list={key_hash(network.certificate)}"
    started = playwright_driver.chromium.launch(executable_path=chromium, args=[*FLAGS, trusted])
    context = started.new_context(viewport=PHONE, has_touch=True, locale="en-GB")
    context.set_default_timeout(10_000)
    yield context
    started.close()


def code_of(network: Network, role: str = "owner") -> str:
    return make_pairing_code(network.journal, role, datetime.now(UTC)).code


def pair(page: Page, network: Network, role: str = "owner", name: str = "Garden phone") -> None:
    page.goto(f"{network.lan}/#/pair?code={code_of(network, role)}")
    page.get_by_label("Name of this device").fill(name)
    page.get_by_role("button", name="Pair this phone").click()
    expect(page.get_by_role("heading", name="Today")).to_be_visible()


def test_a_phone_is_let_in_works_and_is_shut_out(network: Network, trusting_phone: BrowserContext) -> None:
    page = trusting_phone.new_page()
    page.goto(f"{network.lan}/")
    expect(page.get_by_role("heading", name="Pair this phone")).to_be_visible()
    page.get_by_label("Pairing code").fill("acde fghj")
    page.get_by_role("button", name="Pair this phone").click()
    expect(page.locator("[data-field=code] .field-problem")).to_contain_text("does not fit")

    code = code_of(network)
    page.get_by_label("Pairing code").fill(f"{code[:4].lower()} {code[4:].lower()}")
    page.get_by_label("Name of this device").fill("Garden phone")
    page.get_by_role("button", name="Pair this phone").click()
    expect(page.get_by_role("heading", name="Today")).to_be_visible()
    expect(page.get_by_text("“Garden phone” is paired")).to_be_visible()

    page.goto(f"{network.lan}/#/set-up/trials/new")
    page.get_by_label("Title").fill("Terrace")
    page.get_by_label("Year", exact=True).fill("2026")
    page.get_by_role("button", name="Add the trial").click()
    expect(page.get_by_role("link", name="Enter plantings as a list")).to_be_visible()
    assert [trial.fields["title"] for trial in records(network.journal, "trial")] == ["Terrace"]
    assert page.evaluate("() => isSecureContext")
    assert page.evaluate("() => document.cookie") == "", "no script reads the key"

    computer = trusting_phone.new_page()
    computer.goto(f"{network.own}/#/set-up/phones")
    computer.get_by_text("Change", exact=True).click()
    computer.get_by_role("button", name="Shut out").click()
    computer.get_by_role("dialog").get_by_role("button", name="Shut out").click()
    expect(computer.get_by_text("“Garden phone” is shut out.")).to_be_visible()
    assert devices(network.journal)[0].revoked_at is not None

    page.goto(f"{network.lan}/#/")
    expect(page.get_by_role("alert").get_by_role("link", name="Pair this phone").first).to_be_visible()
    page.goto(f"{network.lan}/#/waiting")
    page.get_by_role("button", name="Send now").click()
    expect(page.get_by_role("link", name="Pair this phone")).to_be_visible()
    page.get_by_role("link", name="Pair this phone").click()
    expect(page.get_by_label("Pairing code")).to_be_visible()


def test_the_code_of_a_link_is_filled_in_and_leaves_the_address(
    network: Network, trusting_phone: BrowserContext
) -> None:
    page = trusting_phone.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    code = code_of(network)
    page.goto(f"{network.lan}/#/pair?code={code}")
    expect(page.get_by_label("Pairing code")).to_have_value(code)
    assert page.url == f"{network.lan}/#/pair"
    assert not [address for address in asked if code in address.split("#")[0]]


def test_the_computer_shows_a_code_until_a_phone_has_used_it(network: Network, trusting_phone: BrowserContext) -> None:
    computer = trusting_phone.new_page()
    computer.goto(f"{network.own}/#/set-up/phones")
    computer.get_by_label("What it may do").select_option("helper")
    computer.get_by_role("button", name="Make a pairing code").click()
    shown = computer.locator(".pairing-code")
    expect(shown).to_have_text(re.compile(r"^[A-Z0-9]{4} [A-Z0-9]{4}$"))
    drawn = computer.get_by_role("img", name="QR code of the pairing address")
    assert drawn.evaluate("(image) => image.decode().then(() => image.naturalWidth)") > 100
    phone = trusting_phone.new_page()
    phone.goto(f"{network.lan}/#/pair")
    phone.get_by_label("Pairing code").fill(shown.inner_text())
    phone.get_by_role("button", name="Pair this phone").click()
    expect(phone.get_by_role("heading", name="Today")).to_be_visible()
    expect(computer.get_by_text("“Computer” is paired.")).to_be_visible()
    expect(shown).to_have_count(0)
    expect(computer.locator("#devices")).to_contain_text("helper: takes photos and notes walks")


def test_a_helpers_phone_says_what_it_may_not_do(network: Network, trusting_phone: BrowserContext) -> None:
    trial_id = make(network.journal, "trial", title="Terrace", year=2026)
    page = trusting_phone.new_page()
    pair(page, network, "helper")
    page.goto(f"{network.lan}/#/set-up/trials/{trial_id}")
    page.get_by_label("Title").fill("Mine now")
    page.get_by_role("button", name="Save", exact=True).click()
    at_the_form = page.get_by_text("only the journal's owner changes the rest")
    after_a_slow_answer = page.get_by_text("1 to look at")
    expect(at_the_form.or_(after_a_slow_answer).first).to_be_visible(timeout=15_000)
    assert records(network.journal, "trial")[0].fields["title"] == "Terrace"
    page.goto(f"{network.lan}/#/set-up/phones")
    expect(page.get_by_role("alert")).to_contain_text("only the journal's owner")


def test_who_may_not_write_a_verdict_is_told_before(network: Network, trusting_phone: BrowserContext) -> None:
    trial_id = make(network.journal, "trial", title="Terrace", year=2026)
    planting_id = make_planting(network.journal, trial_id, "Made Up")
    (cultivar_id,) = (p.fields["cultivar_id"] for p in records(network.journal, "planting") if p.id == planting_id)
    page = trusting_phone.new_page()
    pair(page, network, "reader")
    page.goto(f"{network.lan}/#/review/verdict/{trial_id}/{cultivar_id}/container")
    expect(page.get_by_role("note")).to_contain_text("This device is a reader")


def test_a_phone_leaves_by_itself(network: Network, trusting_phone: BrowserContext) -> None:
    page = trusting_phone.new_page()
    pair(page, network)
    page.goto(f"{network.lan}/#/pair")
    page.get_by_role("button", name="Leave the journal").click()
    page.get_by_role("dialog").get_by_role("button", name="Leave").click()
    expect(page.get_by_label("Pairing code")).to_be_visible()
    assert devices(network.journal)[0].revoked_at is not None


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_about_trust_reads_well_on_a_phone(
    network: Network, open_page: Callable[..., Page], scheme: str
) -> None:
    page = open_page(network.trust, color_scheme=scheme)
    assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
    expect(page.get_by_role("heading", name="Let this phone trust the journal")).to_be_visible()
    expect(page.locator(".fingerprint span")).to_have_count(4)
    with page.expect_download() as started:
        page.get_by_role("link", name="Download the certificate").click()
    assert started.value.suggested_filename.endswith(".crt")
    assert Path(started.value.path()).read_bytes() == network.certificate.authority
    heights = page.locator("a.primary, summary").evaluate_all("(all) => all.map((one) => one.offsetHeight)")
    assert min(heights) >= 44


def test_a_paired_phone_opens_without_a_signal_and_sends_later(
    network: Network, trusting_phone: BrowserContext
) -> None:
    trial_id = make(network.journal, "trial", title="Terrace", year=2026)
    page = trusting_phone.new_page()
    pair(page, network)
    page.wait_for_function("() => navigator.serviceWorker.controller", timeout=30_000)
    trusting_phone.set_offline(True)
    page.goto(f"{network.lan}/#/set-up/trials/{trial_id}")
    page.reload()
    page.get_by_label("Title").fill("Named without a signal")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("1 waiting")).to_be_visible(timeout=15_000)
    trusting_phone.set_offline(False)
    expect(page.get_by_text("Everything sent")).to_be_visible(timeout=15_000)
    assert records(network.journal, "trial")[0].fields["title"] == "Named without a signal"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_where_phones_are_let_in(
    network: Network, trusting_phone: BrowserContext, scheme: Literal["light", "dark"]
) -> None:
    page = trusting_phone.new_page()
    page.emulate_media(color_scheme=scheme, reduced_motion="reduce")

    def judge(screen: str) -> None:
        page.evaluate(AXE_SCRIPT)
        assert violations(page, "walk") == [], screen
        assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth"), screen

    page.goto(f"{network.lan}/#/pair")
    expect(page.get_by_label("Pairing code")).to_be_visible()
    judge("unpaired")
    pair(page, network)
    page.goto(f"{network.lan}/#/set-up/phones")
    page.get_by_role("button", name="Make a pairing code").click()
    expect(page.locator(".pairing-code")).to_be_visible()
    page.get_by_text("A new phone has to trust").click()
    page.get_by_text("Change", exact=True).click()
    judge("a code is shown")
    page.goto(f"{network.lan}/#/pair")
    expect(page.get_by_role("button", name="Leave the journal")).to_be_visible()
    judge("paired")
    page.goto(network.trust)
    judge("the page about trust")


@pytest.fixture
def installed(playwright_driver: Playwright, chromium: str, network: Network, tmp_path: Path) -> Iterator[Browser]:
    """A browser in whose list of authorities this one stands, put there as a person would; nothing is overlooked."""
    certutil = shutil.which("certutil")
    if certutil is None:
        reason = "no certutil on this machine (Debian: libnss3-tools)"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    home, listed = tmp_path / "home", tmp_path / "home" / ".pki" / "nssdb"
    listed.mkdir(parents=True)
    authority = tmp_path / "authority.crt"
    assert network.certificate.authority is not None
    authority.write_bytes(network.certificate.authority)
    for call in (["-N", "--empty-password"], ["-A", "-t", "C,,", "-n", "journal", "-i", str(authority)]):
        subprocess.run([certutil, "-d", f"sql:{listed}", *call], check=True, timeout=30)
    elsewhere = "--host-resolver-rules=MAP example.org 127.0.0.1"
    started = playwright_driver.chromium.launch(
        executable_path=chromium, args=[*FLAGS, elsewhere], env={"HOME": str(home), "PATH": "/usr/bin:/bin"}
    )
    yield started
    started.close()


def test_a_browser_trusts_the_authority_for_home_and_for_nothing_else(
    network: Network, installed: Browser, tmp_path: Path
) -> None:
    page = installed.new_page()
    page.goto(network.lan)
    expect(page.get_by_role("heading", name="Pair this phone")).to_be_visible()
    kept = _authority(tmp_path / "certificates" / "authority.pem", datetime.now(UTC))
    stolen = tmp_path / "stolen.pem"
    stolen.write_bytes(_issue(kept, ["example.org", HERE], datetime.now(UTC)).pem())
    outside = Certificate(stolen, stolen, ("example.org",), network.certificate.not_after)
    server = listen(create_app(network.journal), HERE, 0, outside)
    with serving(server), pytest.raises(Error, match="ERR_CERT"):
        page.goto(f"https://example.org:{server.port}/")
