"""A real SMTP server on this machine, which refuses, stumbles or hangs up when told to."""

import asyncio
import email
import email.policy

import pytest
from aiosmtpd.controller import Controller


class Postman:
    """Keeps what arrived; `moods` maps an address to how its letters are met."""

    def __init__(self):
        self.arrived = []
        self.moods = {}
        self.seconds_a_letter = 0.0

    async def handle_RCPT(self, server, session, envelope, address, rcpt_options):
        answer = {"unknown": "550 no such mailbox", "busy": "451 try again later"}
        mood = self.moods.get(address)
        if mood in answer:
            return answer[mood]
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        mood = self.moods.get(envelope.rcpt_tos[0])
        if mood == "hangs_up":
            server.transport.abort()
            return "421 gone"
        if mood == "quotes":
            body = envelope.content.decode()
            address = next(word for word in body.split() if word.startswith("https://"))
            return f"554 not wanted: {address}"
        if self.seconds_a_letter:
            await asyncio.sleep(self.seconds_a_letter)
        self.arrived.append(email.message_from_bytes(envelope.content, policy=email.policy.default))
        return "250 OK"


class AnyPort(Controller):
    """A controller that asks the system for a free port and then speaks to that one."""

    def _trigger_server(self):
        self.port = self.server.sockets[0].getsockname()[1]
        super()._trigger_server()


@pytest.fixture
def postman(settings):
    handler = Postman()
    controller = AnyPort(handler, hostname="127.0.0.1", port=0, ready_timeout=10)
    controller.start()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST = "127.0.0.1"
    settings.EMAIL_PORT = handler.port = controller.port
    settings.EMAIL_HOST_USER = settings.EMAIL_HOST_PASSWORD = ""
    settings.EMAIL_USE_TLS = settings.EMAIL_USE_SSL = False
    yield handler
    controller.stop()
