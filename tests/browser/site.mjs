// A real site for the browser: a private broker, three weeks of a simulated site learned by replay, and coilwardd on
// what that left, on ports of its own. Everything ends with close().
import { spawn, execFileSync } from "node:child_process";
import { mkdtempSync, mkdirSync, writeFileSync, rmSync, openSync, readFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";

const kDays = Number(process.env.COILWARD_BROWSER_DAYS ?? 21);  // a year, when its figures are wanted

// Two branches, a zone with two valves, a master valve; in the third week the wire of zone 4 breaks.
const config = (broker, page, state, run) => `[site]
id = "alder-yard"
name = "Alder Yard"
timezone = "America/Boise"
[mqtt]
url = "mqtt://127.0.0.1:${broker}"
[http]
port = ${page}
[paths]
state = "${state}"
run = "${run}"
[test_run]
allow = true
[master]
[[box]]
id = "A"
metres = 18
[[box]]
id = "B"
from = "A"
metres = 31
[[box]]
id = "C"
from = "B"
metres = 24
[[box]]
id = "Orchard"
from = "A"
metres = 40
[[box]]
id = "D"
from = "C"
metres = 55
${[[1, "Front lawn", "A"], [2, "Roses", "B"], [3, "Apple trees", "Orchard"], [4, "East hedge", "C"],
   [5, "Vegetables behind the long wall", "D"], [6, "Meadow", "D"]]
  .map(([number, name, box]) => `[[zone]]\nnumber = ${number}\nname = "${name}"\nbox = "${box}"\n${number === 5 ? "valves = 2\n" : ""}`).join("")}`;

async function freePort() {
  const server = createServer();
  await new Promise((done) => server.listen(0, "127.0.0.1", done));
  const { port } = server.address();
  await new Promise((done) => server.close(done));
  return port;
}

// Asks until it is true.
export async function until(what, ask, seconds = 20) {
  const end = Date.now() + 1000 * seconds;
  for (;;) {
    const answer = await Promise.resolve().then(ask).catch(() => null);
    if (answer) return answer;
    if (Date.now() > end) throw new Error(`waited ${seconds} s in vain: ${what}`);
    await new Promise((done) => setTimeout(done, 25));
  }
}

// A certificate for 127.0.0.1 that signs itself.
export function selfSigned(certificate, key) {
  execFileSync("openssl", ["req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-days", "60", "-subj", "/CN=page.test",
    "-addext", "subjectAltName=IP:127.0.0.1", "-keyout", key, "-out", certificate], { stdio: "ignore" });
}

export class Site {
  #children = [];
  #listeners = [];
  directory = mkdtempSync(join(tmpdir(), "coilward-browser."));
  more = "";  // at the end of the configuration
  #bin;
  #learned;

  // learned: with three weeks behind it; without, it starts quicker.
  constructor(bin, { learned = true } = {}) {
    this.#bin = bin;
    this.#learned = learned;
    process.on("exit", () => { for (const child of [...this.#children, ...this.#listeners]) child.kill("SIGKILL"); });  // whatever happens
  }

  async open() {
    const path = (name) => join(this.directory, name);
    this.broker = await freePort();
    this.port = await freePort();
    this.address = `http://127.0.0.1:${this.port}`;
    for (const name of ["state", "run"]) mkdirSync(path(name));
    writeFileSync(path("site.toml"), config(this.broker, this.port, path("state"), path("run")) + this.more);
    if (this.#learned) this.#learn(path);
    writeFileSync(path("broker.conf"), `listener ${this.broker} 127.0.0.1\nallow_anonymous true\npersistence false\n`);
    this.#start("broker", "mosquitto", ["-c", path("broker.conf")]);
    await until("the broker", () => this.say("ready", "1") ?? true);
    await this.startDaemon();
    await until("a sound site", async () => {
      this.say("measure/zone/6/current", "0.001");  // heard once the daemon has reached the broker
      return (await fetch(this.address + "/healthz")).ok;
    });
    return this;
  }

  #learn(path) {
    const start = new Date(Date.now() - kDays * 86_400_000);
    start.setUTCHours(0, 0, 0, 0);
    const options = { stdio: ["ignore", "ignore", "pipe"] };
    execFileSync(join(this.#bin, "coilward"), ["simulate", "--config", path("site.toml"), "--days", String(kDays), "--seed", "5",
      "--start", start.toISOString(), "--fault", `open_circuit:zone=4,day=${kDays - 2}`, "--recording", path("weeks.jsonl")], options);
    execFileSync(join(this.#bin, "coilward"), ["replay", path("weeks.jsonl"), "--config", path("site.toml"), "--state", path("state")], options);
  }

  #start(name, program, args) {
    const log = openSync(join(this.directory, name + ".log"), "w");
    const path = `${process.env.PATH}:/usr/sbin`;
    const child = spawn(program, args, { stdio: ["ignore", log, log], env: { ...process.env, PATH: path } });
    child.ended = new Promise((done) => child.on("exit", done));
    this.#children.push(child);
  }

  async startDaemon() {
    this.#start("daemon", join(this.#bin, "coilwardd"), [join(this.directory, "site.toml")]);
    const socket = join(this.directory, "run/coilward.sock");
    await until("the daemon", () => { execFileSync(join(this.#bin, "coilward"), ["zones", "--socket", socket], { stdio: "ignore" }); return true; });
  }

  // From the next start on, with a certificate of its own. Somebody must have a password by then.
  useTls() {
    const certificate = join(this.directory, "page.pem"), key = join(this.directory, "page.key"), file = join(this.directory, "site.toml");
    selfSigned(certificate, key);
    const tls = `port = ${this.port}\naddress = "0.0.0.0"\ncertificate = "${certificate}"\nkey = "${key}"\n`;
    writeFileSync(file, readFileSync(file, "utf8").replace(`port = ${this.port}\n`, tls));
    this.address = `https://127.0.0.1:${this.port}`;
  }

  // What is published under a topic from now on, as {topic, retained, ...its JSON}.
  async listen(topic) {
    const heard = [];
    const child = spawn("mosquitto_sub", ["-p", String(this.broker), "-q", "1", "-F", "%j", "-t", `coilward/alder-yard/${topic}`], { stdio: ["ignore", "pipe", "ignore"] });
    child.ended = new Promise((done) => child.on("exit", done));
    this.#listeners.push(child);
    let text = "", there = false;
    child.stdout.on("data", (piece) => {
      text += piece;
      const lines = text.split("\n");
      text = lines.pop();
      for (const message of lines.map((line) => JSON.parse(line))) {
        there ||= message.topic.endsWith("/listening");
        if (!message.topic.endsWith("/listening")) heard.push({ topic: message.topic, retained: message.retain !== 0, qos: message.qos, ...(typeof message.payload === "string" ? JSON.parse(message.payload) : message.payload) });
      }
    });
    await until("the subscription", () => { this.say(topic.replace("#", "listening"), "{}"); return there; });
    return heard;
  }

  // Throws when the broker does not take it.
  say(channel, payload) {
    execFileSync("mosquitto_pub", ["-p", String(this.broker), "-q", "1", "-t", `coilward/alder-yard/${channel}`, "-m", payload], { stdio: "ignore" });
  }

  async get(path) { return (await fetch(this.address + path)).json(); }
  // That of zone 4, whose wire is broken; a sensor that is silent meanwhile is another.
  async finding() { return (await this.get("/api/v1/findings")).findings.find((one) => one.fault !== "sensor_fault"); }
  log(name) { return readFileSync(join(this.directory, name + ".log"), "utf8"); }

  // Ends the daemon alone (it was started last), politely; says how long it took.
  async stopDaemon() {
    const child = this.#children.pop(), start = Date.now();
    child.kill("SIGTERM");
    await child.ended;
    return Date.now() - start;
  }

  async close() {
    for (const child of this.#listeners) child.kill("SIGKILL");
    for (const child of this.#children.reverse()) {
      child.kill("SIGTERM");
      const firm = setTimeout(() => child.kill("SIGKILL"), 5000);
      await child.ended;
      clearTimeout(firm);
    }
    rmSync(this.directory, { recursive: true, force: true });
  }
}
