// The login in a real browser: the walk in and out, by keyboard alone, without a script; who sees which forms; a
// read-only link; a page left open whose session ends.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { Site } from "./site.mjs";
import { accessible, kSizes, noSidewaysScroll, openPage, settled } from "./pages.mjs";

const kSams = "wet boots at box B", kAnns = "roses and apple trees";

export const loginTests = ({ browser, bin, screens }) => {
  let site;
  const client = (words, input = "") => execFileSync(join(bin, "coilward"), [...words, "--socket", join(site.directory, "run/coilward.sock")], { input }).toString();
  const open = (options = {}) => openPage(browser(), site, { viewport: kSizes.phone, ...options });
  const picture = async (page, name) => { if (screens) await page.screenshot({ path: join(screens, name + ".png"), fullPage: true }); };

  async function logIn(page, name, password) {
    await page.getByLabel("Name").fill(name);
    await page.getByLabel("Password").fill(password);
    await page.getByRole("button", { name: "Log in" }).click();
  }
  async function loggedIn(name, password, options) {
    const page = await open(options);
    await page.goto(site.address + "/login");
    await logIn(page, name, password);
    await page.waitForURL(site.address + "/");
    return page;
  }
  // At every size, light and dark.
  async function holds(page, path) {
    for (const colorScheme of ["light", "dark"])
      for (const [size, viewport] of Object.entries(kSizes)) {
        await page.setViewportSize(viewport);
        await page.emulateMedia({ colorScheme });
        await page.goto(site.address + path);
        await noSidewaysScroll(page, `${path} at ${size}`);
        await accessible(page, `${path} at ${size}, ${colorScheme}`);
      }
    await page.setViewportSize(kSizes.phone);
    await page.emulateMedia({ colorScheme: "light" });
  }
  // What a form of ours would send, sent from the page itself.
  const act = (page, path, fields) => page.evaluate(async ([to, body]) => (await fetch(to, { method: "POST", body: new URLSearchParams(body) })).status, [path, fields]);

  return {
    async "the first set-up is walked through with the code, and the page asks for a login from then on"() {
      site = await new Site(bin).open();
      const page = await open();
      await page.goto(site.address);
      assert.match(await page.locator("footer").textContent(), /Nobody has a password yet/);
      await page.getByRole("link", { name: "Set one" }).click();
      await holds(page, "/set-up");
      await picture(page, "set-up-phone");
      const code = JSON.parse(client(["person", "list", "--json"])).set_up_code;
      const fill = async (again) => {
        await page.getByLabel("Code").fill(code.toLowerCase());
        await page.getByLabel("Name").fill("Sam");
        await page.getByLabel("New password").fill(kSams);
        await page.getByLabel("The same again").fill(again);
        await page.getByRole("button", { name: "Set it up" }).click();
      };
      await fill("something else");
      assert.match(await page.getByRole("alert").textContent(), /not the same/);
      await fill(kSams);
      await page.waitForURL(site.address + "/");
      assert.match(await page.locator("footer").textContent(), /Sam, technician/);
      const stranger = await open();
      await stranger.goto(site.address + "/zone/4?range=day");
      assert.match(stranger.url(), /\/login\?next=/);
      assert.doesNotMatch(await stranger.content(), /Alder Yard/, "a stranger does not learn whose site it is");
      client(["person", "add", "Ann", "--role", "homeowner"], kAnns + "\n");
      await stranger.context().close();
      await page.context().close();
    },

    async "a login leads back to where one wanted to go, with and without a script"() {
      for (const javaScriptEnabled of [true, false]) {
        const page = await open({ javaScriptEnabled });
        await page.goto(site.address + "/zone/4?range=day");
        await logIn(page, "Sam", "not my password");
        assert.match(await page.getByRole("alert").textContent(), /do not go together/);
        assert.equal(await page.getByLabel("Name").inputValue(), "Sam");
        await logIn(page, "Sam", kSams);
        await page.waitForURL(site.address + "/zone/4?range=day");
        await page.getByRole("link", { name: "Your account" }).click();
        await page.getByRole("button", { name: "Log out here" }).click();
        assert.match(await page.locator(".said").textContent(), /logged out/);
        await page.goto(site.address);
        assert.match(page.url(), /\/login$/);
        await page.context().close();
      }
      const page = await open();
      await holds(page, "/login");
      await picture(page, "login-phone");
      assert.deepEqual(page.foreign, []);
      await page.context().close();
    },

    async "the keyboard alone logs in, changes the password and logs out"() {
      const page = await open();
      const tab = async (wanted) => {
        for (let i = 0; i < 60; ++i) {
          await page.keyboard.press("Tab");
          const [name, seen] = await page.evaluate(() => [document.activeElement.name || document.activeElement.textContent.trim(), getComputedStyle(document.activeElement).outlineStyle]);
          if (name === wanted) return assert.notEqual(seen, "none", `the focus is seen at ${wanted}`);
        }
        assert.fail(`never reached ${wanted}`);
      };
      const type = async (field, text) => { await tab(field); await page.keyboard.type(text); };
      await page.goto(site.address + "/login?next=/account");
      await type("name", "Ann");
      await type("password", kAnns);
      await page.keyboard.press("Enter");
      await page.waitForURL(site.address + "/account");
      await type("old", kAnns);
      await type("password", "pears beside the long wall");
      await type("again", "pears beside the long wall");
      await page.keyboard.press("Enter");
      await page.waitForURL(site.address + "/account?said=changed");
      client(["person", "password", "Ann"], kAnns + "\n");  // for the tests that follow; ends this session too
      await page.goto(site.address + "/account");
      await type("name", "Ann");
      await type("password", kAnns);
      await page.keyboard.press("Enter");
      await page.waitForURL(site.address + "/account");
      await tab("Log out here");
      await page.keyboard.press("Enter");
      await page.waitForURL("**/login?said=logged-out");
      await page.context().close();
    },

    async "a homeowner acknowledges, sees no technician's form, and cannot act as one"() {
      const page = await loggedIn("Ann", kAnns), finding = await page.evaluate(async () => (await (await fetch("/api/v1/findings")).json()).findings.find((one) => one.fault !== "sensor_fault").id);
      for (const path of ["/", "/zone/4", "/zone/4/live", `/finding/${finding}`]) {
        await page.goto(site.address + path);
        for (const name of ["Pause alerts", "Enter it", "Ask the controller"]) assert.equal(await page.getByRole("button", { name }).count(), 0, `${name} at ${path}`);
        assert.equal(await page.getByRole("button", { name: /repaired/ }).count(), 0, path);
        assert.equal(await page.getByRole("link", { name: "Who is told" }).count(), 0, path);
      }
      const token = await page.locator('input[name="token"]').first().inputValue();
      for (const path of ["/pause", "/repaired", "/zone/4/test-run", "/share"]) assert.equal(await act(page, path, { token, for: "2h", zone: 4, confirm: "yes", days: 1 }), 403, path);
      assert.equal((await page.goto(site.address + "/told")).status(), 403);
      await page.goto(site.address + `/finding/${finding}`);
      assert.equal(await page.getByLabel("Your name").count(), 0, "the login says who it is");
      await page.getByRole("button", { name: "Stop the repeats" }).click();
      await page.waitForSelector(".said");
      assert.match(await page.locator("main").textContent(), /Acknowledged by Ann/);
      await page.context().close();
    },

    async "a read-only link shows the site as it happens, and cannot act"() {
      const sam = await loggedIn("Sam", kSams);
      await sam.getByRole("link", { name: "Share a read-only link" }).click();
      await sam.getByLabel("Whom it is for").fill("The neighbour");
      await sam.getByRole("button", { name: "Make a link" }).click();
      const address = await sam.locator(".said a").getAttribute("href");
      await accessible(sam, "a link made");
      await picture(sam, "share-phone");
      const guest = await open();
      await guest.goto(address);
      await guest.waitForURL(site.address + "/");
      await settled(guest);
      assert.doesNotMatch(await guest.evaluate(() => location.href), /link/);
      const finding = await guest.evaluate(async () => (await (await fetch("/api/v1/findings")).json()).findings.find((one) => one.fault !== "sensor_fault").id);
      for (const path of ["/", "/zone/4", "/zone/4/live", `/finding/${finding}`]) {
        await guest.goto(site.address + path);
        await settled(guest);
        assert.equal(await guest.locator("form").count(), 0, path);
        await noSidewaysScroll(guest, path);
        await accessible(guest, path);
      }
      assert.match(await guest.locator("footer").textContent(), /read-only link, until/);
      assert.deepEqual(guest.faults, []);
      const token = await sam.locator('input[name="token"]').first().inputValue();
      assert.equal(await act(guest, `/finding/${finding}/acknowledge`, { token }), 403);
      assert.equal((await guest.goto(site.address + "/share")).status(), 403);
      await guest.goto(site.address);
      await sam.goto(site.address + "/share");
      await sam.getByRole("button", { name: "End this link" }).click();
      await sam.waitForSelector(".said");
      await guest.waitForURL("**/login", { timeout: 40_000 });  // by itself
      assert.match(await (await guest.goto(address)).text(), /This link is over/);
      await guest.context().close();
      await sam.context().close();
    },

    async "an account shows where one is logged in, and ends it elsewhere"() {
      const lost = await loggedIn("Sam", kSams), here = await loggedIn("Sam", kSams);
      await here.getByRole("link", { name: "Your account" }).click();
      await holds(here, "/account");
      await picture(here, "account-phone");
      assert.equal(await here.getByText("(here)").count(), 1);
      await here.getByRole("button", { name: "Log out everywhere else" }).click();
      await here.waitForSelector(".said");
      assert.equal(await here.locator("tbody tr").count(), 1);
      await lost.goto(site.address);
      assert.match(lost.url(), /\/login$/);
      await holds(here, "/share");
      for (const page of [lost, here]) await page.context().close();
    },

    async "opened over TLS it is the same page, live, and an address typed without https leads there"() {
      await site.stopDaemon();
      site.useTls();
      await site.startDaemon();
      const page = await open({ ignoreHTTPSErrors: true });
      await page.goto(site.address.replace("https:", "http:") + "/zone/4");
      assert.equal(page.url(), site.address + "/login?next=%2Fzone%2F4");
      await logIn(page, "Sam", kSams);
      await page.waitForURL(site.address + "/zone/4");
      await settled(page);
      for (const cookie of await page.context().cookies()) assert.ok(cookie.secure && cookie.httpOnly && cookie.name.startsWith("__Host-"), cookie.name);
      await page.goto(site.address);
      await settled(page);
      await page.getByRole("button", { name: "Pause alerts" }).first().click();
      await page.waitForSelector(".said");
      assert.deepEqual(page.faults, []);
      await page.context().close();
      await site.close();
    },
  };
};
