// A phone that is told: the page "Who is told", the worker, a push message, the notification, the press on it.
//
// Not to be had here: a push service that hands out subscriptions, which for Chromium is its maker's. So the browser's
// subscribe() is answered by the test, with an endpoint of its own; all else is real: the permission, the page's script,
// the form, what coilward sends to the endpoint, the worker that shows it. The press itself is an event in the worker,
// since nothing but the system's own list of notifications can press one.
import assert from "node:assert/strict";
import { join } from "node:path";
import { Site, until } from "./site.mjs";
import { accessible, kSizes, noSidewaysScroll, openPage } from "./pages.mjs";
import { PushService } from "./push_service.mjs";

const notifiers = (push) => `
[[notifier]]
name = "phones"
plugin = "webpush"
contact = "mailto:test@example.org"
ca_file = "${push.caFile}"
[[notifier]]
name = "nobody there"
plugin = "email"
url = "smtp://127.0.0.1:1"
from = "garden@example.org"
to = ["anna@example.org"]
`;

// In the place of the browser's push service. The key that the page asks with is kept.
const subscribeAs = (page, subscription) => page.addInitScript((given) => {
  const remembered = () => sessionStorage.getItem("subscribed");
  const made = (key) => ({ endpoint: given.endpoint, options: { applicationServerKey: key }, toJSON: () => given, unsubscribe: async () => true });
  PushManager.prototype.subscribe = async ({ userVisibleOnly, applicationServerKey }) => {
    if (!userVisibleOnly) throw new Error("a browser asks for userVisibleOnly");
    sessionStorage.setItem("subscribed", [...applicationServerKey].join());
    return made(applicationServerKey.buffer);
  };
  PushManager.prototype.getSubscription = async () => (remembered() ? made(Uint8Array.from(remembered().split(",")).buffer) : null);
}, subscription);

async function deliver(page, words) {
  const wire = await page.context().newCDPSession(page), origin = new URL(page.url()).origin;
  const known = new Promise((done) => wire.on("ServiceWorker.workerRegistrationUpdated", ({ registrations }) => {
    const ours = registrations.find((one) => one.scopeURL === origin + "/");
    if (ours) done(ours.registrationId);
  }));
  await wire.send("ServiceWorker.enable");
  await wire.send("ServiceWorker.deliverPushMessage", { origin, registrationId: await known, data: JSON.stringify(words) });
}

const shown = (page) => page.evaluate(async () => (await (await navigator.serviceWorker.ready).getNotifications())
  .map((one) => ({ title: one.title, body: one.body, tag: one.tag, path: one.data.path })));

async function press(page) {
  const worker = page.context().serviceWorkers()[0];
  await worker.evaluate(async () => {
    const [notification] = await self.registration.getNotifications();
    self.dispatchEvent(new NotificationEvent("notificationclick", { notification }));
  });
}

async function withWorker(page) {
  await page.context().grantPermissions(["notifications"]);
  await page.evaluate(async () => { await navigator.serviceWorker.register("/worker.js"); await navigator.serviceWorker.ready; });
  await page.waitForFunction(() => navigator.serviceWorker.controller);
}

export const phoneTests = ({ browser, site, bin, screens }) => ({
  async "a push message is shown as a notification, once, and a press on it opens the finding"() {
    const page = await openPage(browser(), site(), { viewport: kSizes.phone });
    await page.goto(site().address);
    await withWorker(page);
    const finding = await site().finding();
    const words = { id: finding.id + ".opened.1", title: "Zone 4 is not watering", body: "Its wire is broken.", url: `/finding/${finding.id}`, severity: "urgent", tag: finding.id };
    await deliver(page, words);
    await until("a notification", async () => (await shown(page)).length);
    await deliver(page, words);
    await deliver(page, { ...words, id: "2", tag: "another", url: "//elsewhere.test/" });
    await until("another one", async () => (await shown(page)).length === 2);
    const all = await shown(page);
    assert.deepEqual(all.find((one) => one.tag === finding.id), { title: words.title, body: words.body, tag: finding.id, path: words.url });
    assert.equal(all.find((one) => one.tag === "another").path, "/", "a notification leads to this site alone");
    await page.evaluate(async () => (await (await navigator.serviceWorker.ready).getNotifications({ tag: "another" }))[0].close());
    await press(page);
    await page.waitForURL(`**/finding/${finding.id}`);
    assert.match(await page.locator("h1").textContent(), /^Zone 4/);
    assert.deepEqual(page.faults, []);
    assert.deepEqual(page.foreign, []);
    await page.context().close();
  },

  async "a phone is told from the press on the page to the notification, until it is gone"() {
    const own = new Site(bin, { learned: false }), push = await new PushService(own.directory).listen();
    own.more = notifiers(push);
    try {
      await own.open();
      await withoutPermission(browser(), own);
      const page = await subscribed(browser(), own, push);
      await toldByATest(page, push);
      if (screens) await page.screenshot({ path: join(screens, "told-phone.png"), fullPage: true });
      await goneAndRemoved(page, push);
      await page.context().close();
    } finally {
      push.close();
      await own.close();
    }
  },
});

async function toldPage(browser, own, prepare) {
  const page = await openPage(browser, own, { viewport: kSizes.phone });
  await prepare(page);
  await page.goto(own.address + "/told");
  return page;
}

const state = (page) => page.locator("[data-state]").textContent();

async function withoutPermission(browser, own) {
  const plain = await toldPage(browser, own, (page) => page.addInitScript(() => Object.defineProperty(window, "isSecureContext", { value: false })));
  assert.match(await state(plain), /plain http.*only over TLS/);
  await plain.context().close();
  const blocked = await toldPage(browser, own, async () => {});
  await blocked.context().clearPermissions();
  if (await blocked.evaluate(() => Notification.permission) !== "denied") await blocked.getByRole("button", { name: "Tell this phone" }).click();
  await until("the page to say so", async () => /blocked/.test(await state(blocked)));
  await blocked.context().close();
}

async function subscribed(browser, own, push) {
  const page = await toldPage(browser, own, async (one) => {
    await one.context().grantPermissions(["notifications"]);
    await subscribeAs(one, push.subscription("/first"));
  });
  assert.match(await page.locator("main").textContent(), /No phone is told yet/);
  await noSidewaysScroll(page, "/told");
  await accessible(page, "/told");
  await page.getByLabel("What this phone is called").fill("Anna's phone");
  await page.getByRole("button", { name: "Tell this phone" }).click();
  await page.waitForSelector(".said >> text=This phone is told from now on");
  await page.getByText("(this one)").waitFor();
  assert.match(await page.locator("[data-phone]").textContent(), /Anna's phone.*127\.0\.0\.1/s);
  await noSidewaysScroll(page, "/told with a phone");
  await accessible(page, "/told with a phone");
  return page;
}

const test = (page, name) => page.getByRole("button", { name: `Send a test by ${name}` }).click();

async function toldByATest(page, push) {
  await test(page, "phones");
  await page.getByText("The test was taken").waitFor();
  const [message] = push.messages;
  assert.equal(message.path, "/first");
  assert.equal(message.headers["content-encoding"], "aes128gcm");
  assert.match(message.words.title, /TEST/);
  await page.waitForFunction(() => navigator.serviceWorker.controller);
  await deliver(page, message.words);
  await until("the notification", async () => (await shown(page)).some((one) => one.title === message.words.title));
  await page.goto(new URL("/", page.url()).href);
  await press(page);
  await page.waitForURL("**/told");
  await test(page, "nobody there");
  await page.getByText("The test failed").waitFor();
  assert.match(await page.locator("main").textContent(), /connect/);
}

async function goneAndRemoved(page, push) {
  push.answer = 410;
  await test(page, "phones");
  await page.getByText("No phone is told yet.").waitFor();
  assert.match(await page.locator("main").textContent(), /no phone is left/);
  await page.getByRole("button", { name: "Tell this phone" }).click();
  await page.getByRole("button", { name: "Do not tell a phone any more" }).click();
  await page.waitForSelector(".said >> text=That phone is not told any more");
  assert.equal(await page.locator("[data-phone]").count(), 0);
  assert.deepEqual(page.faults, []);
  assert.deepEqual(page.foreign, []);
}
