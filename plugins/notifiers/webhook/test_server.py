"""A web server for the tests of the webhook notifier. Prints its port, then one JSON line for each request.

The path says what it answers: /200, /503, /429?after=120, /302?to=URL, /hang, /cut
usage: test_server.py
"""
import json
import threading
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, urlsplit

lock = threading.Lock()


class Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"])).decode()
        with lock:
            print(json.dumps({"path": self.path, "headers": dict(self.headers), "body": body}), flush=True)
        path = urlsplit(self.path)
        options = parse_qs(path.query)
        if path.path == "/hang":
            time.sleep(3600)
        if path.path == "/cut":
            self.connection.close()
            return
        answer = options.get("say", ["noted"])[0].encode()
        self.send_response(int(path.path[1:]))
        if "after" in options:
            self.send_header("Retry-After", options["after"][0])
        if "to" in options:
            self.send_header("Location", options["to"][0])
        self.send_header("Content-Length", str(len(answer)))
        self.end_headers()
        self.wfile.write(answer)

    def log_message(self, *ignored):
        pass


server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
server.daemon_threads = True
print(server.server_address[1], flush=True)
server.serve_forever()
