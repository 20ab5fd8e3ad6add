"""A mail server for the tests of the email notifier. Prints its port, then one JSON line for each mail it took.

usage: test_server.py MODE TLS CERTIFICATE KEY
MODE  accept, one_bad_recipient, one_busy_first, bad_recipient, busy, bad_text, bad_login, silent, silent_after_text, silent_at_quit,
      echo_login, banner=CODE, banner=hang; stages: the name that the client gives itself says what fails
TLS   none, starttls, wrapped
"""
import asyncio
import base64
import email
import email.policy
import json
import ssl
import sys

from aiosmtpd.smtp import SMTP, AuthResult

mode, tls, certificate, key = sys.argv[1:5]
stage, _, fault = mode.partition("=")


async def faulty(place, code):
    if code == "hang":
        await asyncio.sleep(3600)
    return f"{code} {code[0]}.3.0 trouble at {place}"


def parts_of(message):
    return [message.get_content_type()] + [parts_of(part) for part in message.iter_parts()] if message.is_multipart() else message.get_content_type()


class Handler:
    was_busy = False

    async def handle_RCPT(self, server, session, envelope, address, options):
        if mode == "bad_recipient" or (mode == "one_bad_recipient" and address.startswith("bad")):
            return f"550 5.1.1 no such user {address}"
        if mode == "one_busy_first" and address.startswith("busy") and not Handler.was_busy:
            Handler.was_busy = True
            return "450 4.2.0 greylisted"
        if mode == "busy":
            return "451 4.3.2 try again later"
        envelope.rcpt_tos.append(address)
        return "250 ok"

    async def handle_QUIT(self, server, session, envelope):
        if mode == "silent_at_quit":
            await asyncio.sleep(3600)
        return "221 bye"

    async def handle_DATA(self, server, session, envelope):
        if mode == "silent_after_text":
            await asyncio.sleep(3600)
        if mode == "bad_text":
            return "554 5.7.1 looks like spam"
        if server.stage == "text":
            return await faulty(server.stage, server.fault)
        message = email.message_from_bytes(envelope.content, policy=email.policy.default)
        text, page = message.get_body(("plain",)), message.get_body(("html",))
        print(json.dumps({
            "from": envelope.mail_from,
            "to": envelope.rcpt_tos,
            "headers": {name: str(value) for name, value in message.items()},
            "subject": message["Subject"],
            "text": text.get_content().replace("\r\n", "\n"),
            "html": page.get_content().replace("\r\n", "\n"),
            "parts": parts_of(message),
            "html_charset": page.get_content_charset(),
            "charset": text.get_content_charset(),
            "encoding": text["Content-Transfer-Encoding"],
            "longest_line": max(len(line) for line in envelope.content.split(b"\r\n")),
            "ascii": envelope.content.isascii(),
            "defects": [str(d) for part in message.walk() for d in part.defects],
            "login": session.authenticated,
            "tls": session.ssl is not None or tls == "wrapped",
        }), flush=True)
        return "250 2.0.0 queued as 4711"


def login(server, session, envelope, mechanism, data):
    ok = data.login == b"coilward" and data.password == b"correct horse"
    if mode == "echo_login":
        return AuthResult(success=False, handled=False,
                          message="535 5.7.8 bad password " + data.password.decode() + " or "
                                  + base64.b64encode(data.password).decode())
    return AuthResult(success=ok and mode != "bad_login", handled=False)


class Server(SMTP):
    stage = fault = ""

    def connection_made(self, transport):
        if stage == "banner" and fault != "hang":
            transport.write(f"{fault} trouble at banner\r\n".encode())
            transport.close()
            self.transport = transport
            return
        if mode in ("silent", "banner=hang"):
            self.transport = transport
            return
        super().connection_made(transport)

    def connection_lost(self, error):
        if mode not in ("silent", "banner=hang"):
            super().connection_lost(error)

    def eof_received(self):
        return False if mode in ("silent", "banner=hang") else super().eof_received()

    def data_received(self, data):
        if mode not in ("silent", "banner=hang"):
            super().data_received(data)


# The client names itself after the stage that is to fail and how: "rcpt=451", "auth=hang".
def spoil(name):
    original = getattr(SMTP, "smtp_" + name.upper())

    async def spoiled(self, arg):
        if name == "ehlo":
            self.stage, _, self.fault = arg.partition("=")
        if self.stage == name:
            await self.push(await faulty(self.stage, self.fault))
        else:
            await original(self, arg)

    spoiled.__dict__.update(original.__dict__)
    setattr(Server, "smtp_" + name.upper(), spoiled)


if mode == "stages":
    for command in ("ehlo", "starttls", "auth", "mail", "rcpt", "data"):
        spoil(command)


async def main():
    context = None
    if tls != "none":
        context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        context.load_cert_chain(certificate, key)
    loop = asyncio.get_running_loop()

    def make():
        return Server(Handler(), hostname="mail.test", loop=loop, authenticator=login,
                      auth_require_tls=False, tls_context=context if tls == "starttls" else None,
                      require_starttls=tls == "starttls", enable_SMTPUTF8=False)

    server = await loop.create_server(make, "127.0.0.1", 0, ssl=context if tls == "wrapped" else None)
    print(server.sockets[0].getsockname()[1], flush=True)
    await server.serve_forever()


asyncio.run(main())
