"""The other side of a notifier, whose trouble is the content of a file, read anew each time: "accept", "4xx", "5xx",
"hang". Prints its port, then one JSON line {"id": ...} for each alert that it took.

usage: other_side.py webhook|webpush|email PORT CERTIFICATE KEY TROUBLE_FILE PHONE_FILE
"""
import asyncio
import json
import pathlib
import ssl
import sys
import time

root = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(root / "plugins/notifiers/webpush"))
import test_server as push  # noqa: E402

kind, port, certificate, key, trouble_file, phone_file = sys.argv[1:7]


def trouble():
    return pathlib.Path(trouble_file).read_text().strip()


def took(alert):
    print(json.dumps({"id": alert}), flush=True)


class Web(push.Handler):
    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"]))
        now = trouble()
        if now == "hang":
            time.sleep(3600)
        status = {"accept": 201, "4xx": 429, "5xx": 503}[now]
        if status == 201:
            took(self.headers["Idempotency-Key"] if kind == "webhook" else json.loads(push.opened(body))["id"])
        self.send_response(status)
        self.send_header("Content-Length", "0")
        self.end_headers()


class Mail:
    async def handle_DATA(self, server, session, envelope):
        now = trouble()
        if now == "hang":
            await asyncio.sleep(3600)
        if now != "accept":
            return "451 4.3.2 try again later" if now == "4xx" else "554 5.7.1 not this one"
        line = next(x for x in envelope.content.decode().splitlines() if x.lower().startswith("message-id:"))
        took(line.split("<")[1].split("@")[0])
        return "250 taken"


async def mail_server():
    from aiosmtpd.smtp import SMTP
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.load_cert_chain(certificate, key)
    loop = asyncio.get_running_loop()
    server = await loop.create_server(lambda: SMTP(Mail(), hostname="mail.test", loop=loop, tls_context=context,
                                                   require_starttls=True), "127.0.0.1", int(port))
    print(server.sockets[0].getsockname()[1], flush=True)
    await server.serve_forever()


if kind == "email":
    asyncio.run(mail_server())
else:
    pathlib.Path(phone_file).write_text(json.dumps({"p256dh": push.text64(push.point(push.phone)), "auth": push.text64(push.secret)}))
    push.serve(int(port), certificate, key, Web).serve_forever()
