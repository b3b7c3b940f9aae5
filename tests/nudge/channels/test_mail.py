"""Mail against a real SMTP server on loopback."""

import socket
import ssl
import subprocess
from collections.abc import Iterator
from email import message_from_bytes, policy
from email.message import EmailMessage
from pathlib import Path
from typing import Any

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult, LoginPassword

from curetrack.nudge.channels.base import Message, Undelivered
from curetrack.nudge.channels.mail import Mail, MailBox

FLIP = Message("bench/flip/evening", "bench/flip", "Flip onto battens · bench", ("4 people.", "≥ 9 MPa"), "critical")


class Box:
    """Keeps what comes in; refuses an address it does not know."""

    def __init__(self) -> None:
        self.mails: list[EmailMessage] = []

    async def handle_RCPT(self, _server: Any, _session: Any, envelope: Any, address: str, _options: Any) -> str:
        if address.startswith("nobody"):
            return "550 no such person"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, _server: Any, _session: Any, envelope: Any) -> str:
        found = message_from_bytes(envelope.content, policy=policy.default)
        assert isinstance(found, EmailMessage)
        self.mails.append(found)
        return "250 taken"


class Here(Controller):
    """Takes whatever port is free."""

    def _trigger_server(self) -> None:
        self.port = self.server.sockets[0].getsockname()[1]
        super()._trigger_server()


def authenticated(_server: Any, _session: Any, _envelope: Any, _mechanism: str, auth: Any) -> AuthResult:
    right = isinstance(auth, LoginPassword) and (auth.login, auth.password) == (b"maker", b"pa55")
    return AuthResult(success=right, handled=False)


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Self-made, for localhost."""
    folder = tmp_path_factory.mktemp("tls")
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", "key.pem", "-out", "cert.pem", "-days",
         "2", "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1"],
        cwd=folder, check=True, capture_output=True,
    )  # fmt: skip
    return folder


@pytest.fixture
def plain() -> Iterator[Controller]:
    yield from running(Here(Box(), "127.0.0.1", 0))


@pytest.fixture
def secured(certificate: Path) -> Iterator[Controller]:
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.load_cert_chain(certificate / "cert.pem", certificate / "key.pem")
    yield from running(
        Here(
            Box(), "127.0.0.1", 0, tls_context=context, require_starttls=True, authenticator=authenticated,
            auth_required=True,
        )
    )  # fmt: skip


def running(controller: Controller) -> Iterator[Controller]:
    controller.start()
    yield controller
    controller.stop()


def box_at(controller: Controller, **more: Any) -> MailBox:
    return MailBox(
        **{"to": "maker@shop.test", "sender": "bench@shop.test", "host": "127.0.0.1", "port": controller.port, **more}
    )


async def test_a_mail_arrives(plain: Controller) -> None:
    await Mail(box_at(plain, tls="none")).send(FLIP)
    (mail,) = plain.handler.mails
    assert mail["Subject"] == "Flip onto battens · bench"
    assert (mail["From"], mail["To"]) == ("bench@shop.test", "maker@shop.test")
    assert mail.get_content().split() == ["4", "people.", "≥", "9", "MPa"]
    assert mail["Importance"] == "high"
    assert mail["Auto-Submitted"] == "auto-generated"  # RFC 3834: nobody's absence note is to answer


async def test_repeats_hang_together(plain: Controller) -> None:
    channel = Mail(box_at(plain, tls="offer"))
    await channel.send(FLIP)
    await channel.send(FLIP)
    first, second = plain.handler.mails
    assert first["References"] == second["References"]
    assert first["Message-ID"] != second["Message-ID"]


async def test_with_tls_and_a_password(secured: Controller, certificate: Path) -> None:
    context = ssl.create_default_context(cafile=str(certificate / "cert.pem"))
    await Mail(box_at(secured, host="localhost", user="maker", password="pa55"), context=context).send(FLIP)
    assert len(secured.handler.mails) == 1


async def test_a_certificate_that_nobody_vouches_for(secured: Controller) -> None:
    with pytest.raises(Undelivered, match="no TLS with the mail server") as caught:
        await Mail(box_at(secured, user="maker", password="pa55")).send(FLIP)
    assert "pa55" not in str(caught.value)


async def test_a_wrong_password(secured: Controller, certificate: Path) -> None:
    context = ssl.create_default_context(cafile=str(certificate / "cert.pem"))
    with pytest.raises(Undelivered, match="does not take the user or the password") as caught:
        await Mail(box_at(secured, host="localhost", user="maker", password="wrong-one"), context=context).send(FLIP)
    assert "wrong-one" not in str(caught.value)


async def test_tls_is_required_and_not_offered(plain: Controller) -> None:
    with pytest.raises(Undelivered, match="offers no TLS"):
        await Mail(box_at(plain, tls="require")).send(FLIP)
    assert plain.handler.mails == []


async def test_a_password_is_not_sent_in_the_clear() -> None:
    box = MailBox("maker@shop.test", "bench@shop.test", "mail.shop.test", 25, "maker", "pa55", "none")
    with pytest.raises(Undelivered, match="not sent without TLS"):
        await Mail(box).open()


@pytest.fixture
def named(monkeypatch: pytest.MonkeyPatch) -> None:
    """A host that is not this machine by its name; a name server of the test's own leads to it."""
    asked = socket.getaddrinfo

    def found(host: Any, *more: Any, **others: Any) -> Any:
        return asked("127.0.0.1" if host == "mail.shop.test" else host, *more, **others)

    monkeypatch.setattr(socket, "getaddrinfo", found)


@pytest.mark.usefixtures("named")
async def test_whoever_takes_the_tls_out_gets_no_password() -> None:
    """ "offer" takes TLS where it is offered; a password goes only through it."""
    heard: list[str] = []

    class Listening(Box):
        async def handle_AUTH(self, _server: Any, _session: Any, _envelope: Any, args: Any) -> str:
            heard.append(str(args))
            return "235 taken"

    for controller in running(Here(Listening(), "127.0.0.1", 0, authenticator=authenticated, auth_require_tls=False)):
        away = {"host": "mail.shop.test", "tls": "offer"}
        with pytest.raises(Undelivered, match="not sent without TLS"):
            await Mail(box_at(controller, user="maker", password="pa55", **away)).send(FLIP)
        assert heard == []
        await Mail(box_at(controller, **away)).send(FLIP)  # without a password there is nothing to lose
        assert len(controller.handler.mails) == 1


async def test_a_server_that_does_not_say_goodbye(plain: Controller, monkeypatch: pytest.MonkeyPatch) -> None:
    """The mail has gone: it is not sent again."""

    async def smtp_quit(self: SMTP, _: Any) -> None:
        assert self.transport is not None
        self.transport.abort()

    monkeypatch.setattr(SMTP, "smtp_QUIT", smtp_quit)
    await Mail(box_at(plain, tls="none")).send(FLIP)
    assert len(plain.handler.mails) == 1


async def test_a_server_that_never_answers() -> None:
    with socket.create_server(("127.0.0.1", 0)) as silent:
        box = MailBox("a@shop.test", "b@shop.test", "127.0.0.1", silent.getsockname()[1], tls="none")
        with pytest.raises(Undelivered, match="does not answer in time"):
            await Mail(box, timeout_s=0.2).send(FLIP)


async def test_no_log_in(plain: Controller) -> None:
    with pytest.raises(Undelivered, match="offers no log-in"):
        await Mail(box_at(plain, tls="none", user="maker", password="pa55")).send(FLIP)


async def test_an_address_beyond_ascii() -> None:
    for controller in running(Here(Box(), "127.0.0.1", 0, enable_SMTPUTF8=False)):
        with pytest.raises(Undelivered, match="only ASCII letters in addresses"):
            await Mail(box_at(controller, tls="none", to="jürgen@shop.test")).send(FLIP)


async def test_tls_from_the_start(certificate: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The port says so (RFC 8314); here another one stands for it."""
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.load_cert_chain(certificate / "cert.pem", certificate / "key.pem")
    for controller in running(Here(Box(), "127.0.0.1", 0, ssl_context=context)):
        monkeypatch.setattr("curetrack.nudge.channels.mail.TLS_FROM_THE_START", controller.port)
        trusted = ssl.create_default_context(cafile=str(certificate / "cert.pem"))
        await Mail(box_at(controller, host="localhost"), context=trusted).send(FLIP)
        assert len(controller.handler.mails) == 1


async def test_an_address_that_is_not_taken(plain: Controller) -> None:
    with pytest.raises(Undelivered, match="does not take the address"):
        await Mail(box_at(plain, tls="none", to="nobody@shop.test")).send(FLIP)


async def test_nobody_there() -> None:
    box = MailBox("maker@shop.test", "bench@shop.test", "127.0.0.1", 9, tls="none")
    with pytest.raises(Undelivered, match="cannot be reached"):
        await Mail(box).send(FLIP)


async def test_a_title_cannot_add_a_header(plain: Controller) -> None:
    await Mail(box_at(plain, tls="none")).send(Message("k", "g", "a\r\nBcc: other@shop.test", ("b",)))
    (mail,) = plain.handler.mails
    assert mail["Bcc"] is None
    assert mail["Subject"] == "a Bcc: other@shop.test"
