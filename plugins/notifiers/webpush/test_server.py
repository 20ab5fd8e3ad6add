"""A push service and a phone behind it, for the tests of the webpush notifier. Prints its port, then the phone's keys,
then one JSON line for each message: opened by the phone, its sender's token checked.

The path says what it answers: /201/anything, /429/anything?after=120, /410/gone, /hang, /cut
usage: test_server.py CERTIFICATE KEY
"""
import base64
import json
import socket
import ssl
import sys
import threading
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, urlsplit

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, utils
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

lock = threading.Lock()
phone, secret = ec.generate_private_key(ec.SECP256R1()), b"sixteen octets!!"


def text64(octets):
    return base64.urlsafe_b64encode(octets).rstrip(b"=").decode()


def octets64(text):
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def point(key):
    return key.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)


def hkdf(salt, key, info, size):
    return HKDF(hashes.SHA256(), size, salt, info).derive(key)


# RFC 8291 section 3.4 and RFC 8188 section 2, from the phone's side.
def opened(body):
    salt, record, length = body[:16], int.from_bytes(body[16:20], "big"), body[20]
    sender, sealed = body[21:21 + length], body[21 + length:]
    assert record == 4096 and length == 65 and len(body) <= 4096
    shared = phone.exchange(ec.ECDH(), ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), sender))
    key = hkdf(secret, shared, b"WebPush: info\0" + point(phone) + sender, 32)
    plain = AESGCM(hkdf(salt, key, b"Content-Encoding: aes128gcm\0", 16)).decrypt(
        hkdf(salt, key, b"Content-Encoding: nonce\0", 12), sealed, None)
    text = plain.rstrip(b"\0")
    assert text.endswith(b"\2")
    return text[:-1].decode()


# RFC 8292: what the token says, when it is signed by the key beside it.
def claims(field):
    kind, rest = field.split(" ", 1)
    values = dict(part.strip().split("=", 1) for part in rest.split(","))
    head, body, signature = values["t"].split(".")
    raw = octets64(signature)
    pair = utils.encode_dss_signature(int.from_bytes(raw[:32], "big"), int.from_bytes(raw[32:], "big"))
    key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), octets64(values["k"]))
    try:
        key.verify(pair, f"{head}.{body}".encode(), ec.ECDSA(hashes.SHA256()))
    except InvalidSignature:
        return None
    assert kind == "vapid" and json.loads(octets64(head))["alg"] == "ES256"
    return json.loads(octets64(body)) | {"k": values["k"]}


class Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"]))
        with lock:
            print(json.dumps({"path": self.path, "headers": dict(self.headers), "size": len(body),
                              "words": json.loads(opened(body)), "claims": claims(self.headers["Authorization"])}),
                  flush=True)
        path = urlsplit(self.path)
        what = path.path.split("/")[1]
        if what == "hang":
            time.sleep(3600)
        if what == "cut":
            self.connection.shutdown(socket.SHUT_RDWR)
            return
        answer = parse_qs(path.query).get("say", [""])[0].encode()
        self.send_response(int(what))
        if "after" in parse_qs(path.query):
            self.send_header("Retry-After", parse_qs(path.query)["after"][0])
        self.send_header("Content-Length", str(len(answer)))
        self.end_headers()
        self.wfile.write(answer)

    def log_message(self, *ignored):
        pass


class Server(ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, *ignored):  # a peer that does not trust the certificate
        pass


def serve(port, certificate, key, handler=Handler):
    server = Server(("127.0.0.1", port), handler)
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.load_cert_chain(certificate, key)
    server.socket = context.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
    print(server.server_address[1], flush=True)
    return server


if __name__ == "__main__":
    server = serve(0, sys.argv[1], sys.argv[2])
    print(json.dumps({"p256dh": text64(point(phone)), "auth": text64(secret)}), flush=True)
    server.serve_forever()
