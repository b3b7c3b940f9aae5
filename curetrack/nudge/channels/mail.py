"""E-mail over SMTP (RFC 5321), plain text. Repeats of a nudge hang together in one thread by their message ids."""

import asyncio
import smtplib
import ssl
from email.message import EmailMessage
from email.utils import formatdate, make_msgid
from hashlib import sha256
from ipaddress import ip_address
from typing import Literal

from msgspec import Struct

from curetrack.nudge.channels.base import Message, Sent, Undelivered

__all__ = ["Mail", "MailBox"]

TIMEOUT_s = 20.0
TLS_FROM_THE_START = 465

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
            raise Undelivered("a password is not sent without TLS; set mail_tls to require")

    async def send(self, message: Message, replaces: str = "") -> Sent:
        """One try: the next one is the nudge's own repeat."""
        await self.open()
        mail = self._written(message)
        why = await asyncio.to_thread(self._post, mail)
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

    def _post(self, mail: EmailMessage) -> str:
        """Why it did not go out; "" if it did."""
        box = self._box
        try:
            with self._connected() as server:
                if box.user:
                    server.login(box.user, box.password)
                server.send_message(mail)
        except smtplib.SMTPAuthenticationError:
            return "the mail server does not take the user or the password"
        except smtplib.SMTPRecipientsRefused:
            return "the mail server does not take the address"
        except smtplib.SMTPNotSupportedError:
            return "the mail server offers no TLS or no log-in"
        except smtplib.SMTPResponseException as error:
            return f"the mail server answered {error.smtp_code}"
        except ssl.SSLError as error:
            return f"no TLS with the mail server ({error.reason or 'it failed'})"
        except (OSError, smtplib.SMTPException) as error:
            return f"the mail server cannot be reached ({getattr(error, 'strerror', None) or type(error).__name__})"
        except ValueError:
            return "an address or a name holds letters that cannot be sent"
        return ""

    def _connected(self) -> smtplib.SMTP:
        box, context = self._box, self._context or ssl.create_default_context()
        if box.port == TLS_FROM_THE_START:
            return smtplib.SMTP_SSL(box.host, box.port, timeout=self._timeout_s, context=context)
        server = smtplib.SMTP(box.host, box.port, timeout=self._timeout_s)
        try:
            server.ehlo_or_helo_if_needed()
            if box.tls == "require" or (box.tls == "offer" and server.has_extn("starttls")):
                server.starttls(context=context)
                server.ehlo()
        except BaseException:
            server.close()
            raise
        return server

    async def withdraw(self, mark: str) -> None:
        """What was mailed stays mailed."""

    async def close(self) -> None:
        """Nothing is held."""


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False
