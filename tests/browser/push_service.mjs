// A push service for the browser's tests, and a phone's side of RFC 8291: takes what coilward sends over TLS and opens it
// with Node's own cryptography.
import { createDecipheriv, createECDH, hkdfSync, randomBytes } from "node:crypto";
import { readFileSync } from "node:fs";
import { createServer } from "node:https";
import { join } from "node:path";
import { selfSigned } from "./site.mjs";

const zero = Buffer.from([0]);
const hkdf = (salt, key, info, size) => Buffer.from(hkdfSync("sha256", key, salt, info, size));

export class PushService {
  messages = [];  // {path, headers, words}
  answer = 201;
  #phone = createECDH("prime256v1");
  #secret = randomBytes(16);

  constructor(directory) {
    this.caFile = join(directory, "push-cert.pem");
    this.#phone.generateKeys();
    selfSigned(this.caFile, join(directory, "push-key.pem"));
    this.server = createServer({ cert: readFileSync(this.caFile), key: readFileSync(join(directory, "push-key.pem")) }, async (request, response) => {
      const parts = [];
      for await (const part of request) parts.push(part);
      this.messages.push({ path: request.url, headers: request.headers, words: JSON.parse(this.#opened(Buffer.concat(parts))) });
      response.writeHead(this.answer).end();
    });
  }

  async listen() {
    await new Promise((done) => this.server.listen(0, "127.0.0.1", done));
    this.address = `https://127.0.0.1:${this.server.address().port}`;
    return this;
  }

  // What a browser's PushSubscription says of itself.
  subscription(path) {
    return { endpoint: this.address + path, keys: { p256dh: this.#phone.getPublicKey("base64url"), auth: this.#secret.toString("base64url") } };
  }

  #opened(body) {
    const salt = body.subarray(0, 16), sender = body.subarray(21, 21 + body[20]), sealed = body.subarray(21 + body[20]);
    const info = Buffer.concat([Buffer.from("WebPush: info"), zero, this.#phone.getPublicKey(), sender]);
    const key = hkdf(this.#secret, this.#phone.computeSecret(sender), info, 32);
    const named = (name, size) => hkdf(salt, key, Buffer.concat([Buffer.from(`Content-Encoding: ${name}`), zero]), size);
    const open = createDecipheriv("aes-128-gcm", named("aes128gcm", 16), named("nonce", 12));
    open.setAuthTag(sealed.subarray(-16));
    const plain = Buffer.concat([open.update(sealed.subarray(0, -16)), open.final()]);
    return plain.subarray(0, plain.lastIndexOf(2)).toString();
  }

  close() { this.server.closeAllConnections(); this.server.close(); }
}
