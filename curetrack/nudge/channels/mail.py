"""E-mail over SMTP (RFC 5321), plain text. Repeats of a nudge hang together in one thread by their message ids."""

import contextlib
import smtplib
import ssl
from collections.abc import Iterator
from email.message import EmailMessage
from email.utils import formatdate, make_msgid
from hashlib import sha256
from ipaddress import ip_address
from typing import Literal

from msgspec import Struct

from curetrack.nudge.channels.apart import apart
from curetrack.nudge.channels.base import Message, Sent, Undelivered

__all__ = ["Mail", "MailBox"]

TIMEOUT_s = 20.0
TLS_FROM_THE_START = 465  # RFC 8314
CLEAR = "a password is not sent without TLS; set mail_tls to require"
NOT_OFFERED = {  # by the first word of the library's own text
    "STARTTLS": "the mail server offers no TLS",
    "SMTP": "the mail server offers no log-in",
}

Tls = Literal["require", "offer", "none"]


class MailBox(Struct, frozen=True):
    """Where mail goes, and by which server. `tls`: require it, take it where offered, or do without."""

    to: str
    sender: str
    host: str
    port: int
    user: str = ""
    password: str = ""
    tls: Tls = "require"


class Mail:
    """One mail for each nudge."""

    name = "mail"

    def __init__(self, box: MailBox, *, timeout_s: float = TIMEOUT_s, context: ssl.SSLContext | None = None) -> None:
        self._box, self._timeout_s, self._context = box, timeout_s, context

    @property
    def reaches(self) -> str:
        """In a few words."""
        return f"mail to {self._box.to}"

    async def open(self) -> None:
        """Raises Undelivered for a password that would travel in the clear."""
        if self._box.password and self._box.tls == "none" and not _is_loopback(self._box.host):
            raise Undelivered(CLEAR)

    async def send(self, message: Message, replaces: str = "") -> Sent:
        """One try: the next one is the nudge's own repeat."""
        await self.open()
        why = await apart(lambda: self._post(message))
        if why:
            raise Undelivered(why)
        return Sent()

    def _written(self, message: Message) -> EmailMessage:
        mail = EmailMessage()
        mail["Subject"] = " ".join(message.title.split())
        mail["From"], mail["To"] = self._box.sender, self._box.to
        mail["Date"] = formatdate(usegmt=True)
        domain = self._box.sender.rpartition("@")[2] or "curetrack.invalid"
        thread = f"<{sha256(message.key.encode()).hexdigest()[:24]}@{domain}>"
        mail["Message-ID"] = make_msgid(domain=domain)
        mail["References"] = mail["In-Reply-To"] = thread
        if message.urgency == "critical":
            mail["Importance"] = "high"
        mail["Auto-Submitted"] = "auto-generated"
        mail.set_content("\n\n".join(message.body) + "\n")
        return mail

    def _post(self, message: Message) -> str:
        """Why it did not go out; "" if it did."""
        box = self._box
        try:
            with self._connected() as server:
                if box.user:
                    if not _is_tls(server) and not _is_loopback(box.host):
                        return CLEAR
                    server.login(box.user, box.password)
                server.send_message(self._written(message))
        except smtplib.SMTPAuthenticationError:
            return "the mail server does not take the user or the password"
        except smtplib.SMTPRecipientsRefused:
            return "the mail server does not take the address"
        except smtplib.SMTPNotSupportedError as error:
            return NOT_OFFERED.get(
                str(error).partition(" ")[0], "the mail server takes only ASCII letters in addresses"
            )
        except smtplib.SMTPResponseException as error:
            return f"the mail server answered {error.smtp_code}"
        except ssl.SSLError as error:
            return f"no TLS with the mail server ({error.reason or 'it failed'})"
        except TimeoutError:
            return "the mail server does not answer in time"
        except smtplib.SMTPServerDisconnected:
            return "the mail server hung up, or does not answer in time"
        except OSError as error:  # smtplib's own are such, too
            return f"the mail server cannot be reached ({error.strerror or type(error).__name__})"
        except ValueError:
            return "an address or a name holds letters that cannot be sent"
        return ""

    @contextlib.contextmanager
    def _connected(self) -> Iterator[smtplib.SMTP]:
        """A server that has agreed on TLS where it must. Trouble in saying goodbye is none: the mail has gone."""
        box, context = self._box, self._context or ssl.create_default_context()
        server: smtplib.SMTP
        if box.port == TLS_FROM_THE_START:
            server = smtplib.SMTP_SSL(box.host, box.port, timeout=self._timeout_s, context=context)
        else:
            server = smtplib.SMTP(box.host, box.port, timeout=self._timeout_s)
        try:
            server.ehlo_or_helo_if_needed()
            if not _is_tls(server) and (box.tls == "require" or (box.tls == "offer" and server.has_extn("starttls"))):
                server.starttls(context=context)
                server.ehlo()
            yield server
            with contextlib.suppress(OSError, smtplib.SMTPException):
                server.quit()
        finally:
            server.close()

    async def withdraw(self, mark: str) -> None:
        """What was mailed stays mailed."""

    async def close(self) -> None:
        """Nothing is held."""


def _is_tls(server: smtplib.SMTP) -> bool:
    return isinstance(server.sock, ssl.SSLSocket)


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False
