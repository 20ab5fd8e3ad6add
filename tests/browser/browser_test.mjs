// A real browser over the page of a real coilwardd. node tests/browser/browser_test.mjs BIN [SCREENS]: BIN is where the
// programs are; SCREENS, a directory that pictures are put into. COILWARD_BROWSER_ONLY: of the tests, those with these words.
import assert from "node:assert/strict";
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { Site, until } from "./site.mjs";
import { loginTests } from "./login_tests.mjs";
import { mailPictures, mailTests } from "./mail_tests.mjs";
import { phoneTests } from "./phone_tests.mjs";
import { commissionTests } from "./commission_tests.mjs";
import { noteTests } from "./note_tests.mjs";
import { sheetTests } from "./sheet_tests.mjs";
import { accessible, kSizes, noSidewaysScroll, openBrowser, openPage, settled } from "./pages.mjs";

const [bin, screens] = process.argv.slice(2);
let site, browser, finding, figures = {};

async function paths() {
  finding = await site.finding();
  return ["/", "/zone/4", "/zone/2?range=day", "/zone/2?range=month", "/zone/0", "/zone/6/live", "/zone/6/test-run", `/finding/${finding.id}`];
}

const tests = {
  async "every page fits every size, breaks no rule of accessibility and asks nobody else"() {
    figures.rules = 0;
    for (const colorScheme of ["light", "dark"])
      for (const [name, viewport] of Object.entries(kSizes)) {
        const page = await openPage(browser, site, { viewport, colorScheme });
        for (const path of await paths()) {
          await page.goto(site.address + path);
          await settled(page);
          await noSidewaysScroll(page, `${path} at ${name}`);
          if (name !== "narrow") figures.rules += await accessible(page, `${path} at ${name}, ${colorScheme}`);
        }
        assert.deepEqual(page.faults, []);
        assert.deepEqual(page.foreign, []);
        await page.context().close();
      }
  },

  async "one glance says which zone is dead, and the drawing says where"() {
    const page = await openPage(browser, site, { viewport: kSizes.phone });
    await page.goto(site.address);
    assert.match(await page.locator("h1").textContent(), /^Zone 4 \(East hedge\) is not watering$/);
    const best = finding.where[0];
    const stretch = page.locator(`[data-stretch="${best.to}"]`);
    assert.match(await stretch.getAttribute("class"), /broken/);
    assert.match(await stretch.textContent(), /Fault here\?/);
    assert.match(await page.locator('.wiring [data-zone="4"]').textContent(), /broken wire, splice or coil/);
    assert.ok((await page.locator("h1").boundingBox()).y < 300, "it is at the top");
    await page.context().close();
  },

  async "what a zone draws is shown as it happens, without loading again"() {
    const page = await openPage(browser, site);
    await page.goto(site.address);
    await settled(page);
    await page.evaluate(() => { window.same = true; });
    site.say("measure/zone/6/command", "on");
    site.say("measure/zone/6/current", "0.317");
    await page.waitForFunction(() => document.querySelector('.wiring [data-zone="6"] [data-field="amps"]').textContent === "0.317 A");
    assert.equal(await page.locator('tr[data-zone="6"] [data-field="when"]').textContent(), "on now");
    assert.equal(await page.evaluate(() => window.same), true);
    site.say("measure/zone/6/current", "0.001");
    site.say("measure/zone/6/command", "off");
    await page.context().close();
  },

  async "where events cannot be had the page is loaded again"() {
    const page = await openPage(browser, site);
    await page.route("**/events", (route) => route.fulfill({ status: 503 }));
    await page.clock.install();
    await page.goto(site.address);
    await page.waitForFunction(() => document.getElementById("live").textContent === "Loaded again every half minute");
    const again = page.waitForResponse((answer) => answer.url() === site.address + "/");
    await page.clock.fastForward(31_000);
    assert.equal((await again).status(), 200);
    await page.context().close();
  },

  async "the keyboard reaches everything, seen and in order"() {
    const page = await openPage(browser, site);
    await page.goto(site.address);
    await settled(page);
    await page.keyboard.press("Tab");
    assert.equal(await page.evaluate(() => document.activeElement.className), "skip");
    const reached = [];
    for (let i = 0; i < 60; ++i) {
      await page.keyboard.press("Tab");
      const at = await page.evaluate(() => {
        const e = document.activeElement, s = getComputedStyle(e), touch = e.querySelector?.(".touch");
        const seen = s.outlineStyle !== "none" || (touch && getComputedStyle(touch).strokeWidth === "3px") || s.textDecorationLine.includes("underline") ||
          [...(e.querySelectorAll?.("text") ?? [])].some((t) => getComputedStyle(t).textDecorationLine.includes("underline"));
        return e === document.body ? null : { name: e.getAttribute("href") ?? e.textContent.trim(), seen };
      });
      if (!at) break;
      assert.ok(at.seen, `the focus is seen at ${at.name}`);
      reached.push(at.name);
    }
    for (const wanted of ["/", "/zone/1", "/zone/4", "/zone/0", `/finding/${finding.id}`, "Pause alerts"]) assert.ok(reached.includes(wanted), `reaches ${wanted}`);
    await page.locator('.wiring a[href="/zone/4"]').focus();
    await page.keyboard.press("Enter");
    await page.waitForURL("**/zone/4");
    await page.context().close();
  },

  async "at the valve: the draw in large figures, a tone that rises with it, and nothing old shown as live"() {
    const page = await openPage(browser, site, { viewport: kSizes.phone });
    await page.addInitScript(() => {
      window.oscillators = [];
      const make = AudioContext.prototype.createOscillator;
      AudioContext.prototype.createOscillator = function () { const made = make.call(this); window.oscillators.push(made); return made; };
    });
    const normal = (await site.get("/api/v1/zones/6")).normal.hold_amps;
    const draws = async (share, word) => {
      site.say("measure/zone/6/current", (share * normal).toFixed(4));
      await page.waitForFunction((w) => document.querySelector('[data-now="state"]').textContent === w, word);
      return page.locator("#now").getAttribute("data-tone");
    };
    const pitch = () => page.evaluate(() => window.oscillators[0].frequency.value);
    site.say("measure/zone/6/command", "on");
    await page.goto(site.address + "/zone/6/live");
    await settled(page);
    assert.equal(await draws(0.001, "nothing"), "off");
    await page.waitForFunction(() => document.querySelector('[data-now="on"]').textContent === "The zone is on");
    const figure = await page.locator(".big").boundingBox();
    assert.ok(figure.height > 60 && figure.y < 300, `a large figure at the top: ${JSON.stringify(figure)}`);
    await page.getByRole("button", { name: "Start the tone" }).click();
    const low = Number(await draws(0.3, "well below normal")), high = Number(await draws(0.88, "near normal"));
    assert.ok(low > 220 && high > 1.5 * low && high < 880, `${low} Hz rises to ${high} Hz`);
    await until("the tone itself", async () => Math.abs((await pitch()) - high) < 10);
    assert.equal(await draws(1, "normal"), "reached");
    assert.match(await page.locator(".big").textContent(), /^(99|100|101) %$/);
    assert.ok(Number(await draws(1.4, "above normal")) > 880);
    assert.ok((await page.locator(".strip .mean").getAttribute("d")).split("L").length >= 4, "the last minute is drawn");
    await page.waitForFunction(() => document.getElementById("now").dataset.tone === "silent", null, { timeout: 9000 });
    assert.match(await page.locator("#now").getAttribute("class"), /stale/);
    assert.match(await page.locator("#now").textContent(), /stale, not live.*read \d+ s ago/s);
    await page.getByRole("button", { name: "Stop the tone" }).press("Enter");
    assert.equal(await page.locator("#now").getAttribute("data-tone"), "off");
    site.say("measure/zone/6/current", "0.001");
    site.say("measure/zone/6/command", "off");
    assert.deepEqual(page.faults, []);
    await page.context().close();
  },

  async "where events cannot be had the page in hand asks each second"() {
    const page = await openPage(browser, site);
    await page.route("**/events*", (route) => route.fulfill({ status: 503 }));
    await page.goto(site.address + "/zone/5/live");
    site.say("measure/zone/5/current", "0.123");
    await page.waitForFunction(() => document.querySelector('[data-now="amps"]').textContent === "0.123 A");
    await page.context().close();
  },

  async "a zone is switched on for a test by a request, when somebody has said that it is safe"() {
    const heard = await site.listen("request/#");
    const page = await openPage(browser, site, { viewport: kSizes.phone });
    await page.goto(site.address + "/zone/6/live");
    await page.getByRole("link", { name: "Ask the controller to switch it on for a test" }).click();
    const button = page.getByRole("button", { name: "Ask the controller to switch zone 6 on" });
    await button.click();
    assert.match(page.url(), /test-run$/, "without the tick the browser does not send it");
    await page.getByLabel("Your name, for the record").fill("Ana");
    await page.getByRole("checkbox").check();
    await button.click();
    await page.waitForURL("**/zone/6/live*");
    const request = await until("the request", () => heard[0]);
    assert.equal(request.topic, "coilward/alder-yard/request/run");
    assert.deepEqual([request.zone, request.seconds, request.who, request.retained, request.qos], [6, 120, "Ana", false, 1]);
    assert.equal(new Date(request.expires) - new Date(request.asked), 10_000);
    site.say("measure/zone/6/command", "on");
    site.say("measure/zone/6/current", "0.3");
    await page.waitForFunction(() => document.querySelector('[data-now="test"]').textContent.startsWith("On for a test"));
    await page.getByRole("button", { name: "Ask the controller to switch zone 6 off" }).click();
    const stop = await until("the other request", () => heard[1]);
    assert.deepEqual([stop.topic, stop.id], ["coilward/alder-yard/request/stop", request.id]);
    site.say("measure/zone/6/command", "off");
    await until("the end", async () => {
      site.say("measure/zone/6/current", "0.001");
      return (await site.get("/api/v1/test-runs")).test_runs[0].stage === "over";
    });
    assert.match(site.log("daemon"), /test run \S+-z6: Ana asks for zone 6 to be on for 120 s/);
    await page.context().close();
  },

  async "a test reading is entered where it is proposed, and moves the places"() {
    const page = await openPage(browser, site, { viewport: kSizes.phone });
    await page.goto(`${site.address}/finding/${finding.id}`);
    await settled(page);
    const next = (await site.get(`/api/v1/findings/${finding.id}/places`)).next;
    const open = page.locator("details[open]");
    assert.equal(await open.locator('select[name="at"]').inputValue(), next.at);
    await open.locator('input[name="volts_on"]').fill("26,4");
    await page.locator("h1").click();  // what is filled in is not lost when the page changes
    site.say("measure/zone/1/command", "on");
    site.say("measure/zone/1/command", "off");
    assert.equal(await open.locator('input[name="volts_on"]').inputValue(), "26,4");
    await open.locator('input[name="by"]').fill("Ana");
    await open.getByRole("button", { name: "Enter it" }).click();
    await page.waitForSelector(".said");
    assert.match(await page.locator("#measured").textContent(), /26.4 V, zone on.*fits/s);
    const kept = (await site.get(`/api/v1/findings/${finding.id}/test-readings`)).readings;
    assert.deepEqual([kept.length, kept[0].volts_on, kept[0].by, kept[0].at], [1, 26.4, "Ana", next.at]);
    assert.equal(await page.getByRole("columnheader", { name: "Before the last reading" }).count(), 1);
    await noSidewaysScroll(page, "a finding with readings");
    await accessible(page, "a finding with readings");
    await page.context().close();
  },

  async "the keyboard alone enters a reading and starts the tone"() {
    const page = await openPage(browser, site);
    const tab = async (wanted) => {
      for (let i = 0; i < 60; ++i) {
        await page.keyboard.press("Tab");
        const [name, seen] = await page.evaluate(() => [document.activeElement.textContent.trim() || document.activeElement.name, getComputedStyle(document.activeElement).outlineStyle]);
        if (name === wanted) return assert.notEqual(seen, "none", `the focus is seen at ${wanted}`);
      }
      assert.fail(`never reached ${wanted}`);
    };
    await page.goto(`${site.address}/finding/${finding.id}`);
    await settled(page);
    await tab("Test source, volts to earth");
    if (!(await page.locator("#enter-source").evaluate((d) => d.open))) await page.keyboard.press("Enter");
    await tab("volts_to_earth");
    await page.keyboard.type("1");
    await tab("Enter it");
    await page.goto(site.address + "/zone/4/live");
    await settled(page);
    await tab("Start the tone");
    await page.keyboard.press("Enter");
    assert.notEqual(await page.locator("#now").getAttribute("data-tone"), "off");
    await page.context().close();
  },

  async "runs are laid over one another, as many as the buttons say"() {
    for (const javaScriptEnabled of [true, false]) {
      const page = await openPage(browser, site, { javaScriptEnabled, viewport: kSizes.phone });
      await page.goto(site.address + "/zone/4?range=run");
      assert.equal(await page.locator("#laid path.earlier").count(), 5);
      await page.getByRole("link", { name: "12 runs" }).click();
      await page.waitForURL("**lay=12**");
      assert.ok((await page.locator("#laid path.earlier").count()) > 5);
      assert.equal(await page.locator("#laid path.mean").count(), 1);
      await page.context().close();
    }
  },

  async "without a script everything is there and can be done"() {
    const page = await openPage(browser, site, { javaScriptEnabled: false, viewport: kSizes.phone });
    for (const path of await paths()) {
      await page.goto(site.address + path);
      await noSidewaysScroll(page, path);
      if (await page.locator("#chart").count()) assert.ok((await page.locator("#chart svg path").count()) > 0, `${path} has its drawing`);
    }
    await page.getByRole("button", { name: "Stop the repeats" }).click();
    assert.match(page.url(), /said=acknowledged$/);
    assert.match(await page.locator(".said").textContent(), /Acknowledged/);
    assert.equal((await site.get(`/api/v1/findings/${finding.id}`)).acknowledged_by, "someone at the page");
    await page.context().close();
  },

  async "alerts are paused and come again; another page learns of it"() {
    const page = await openPage(browser, site), other = await openPage(browser, site);
    await other.goto(site.address + "/zone/2");
    await settled(other);
    await page.goto(site.address + "/zone/2");
    await settled(page);
    await page.getByRole("button", { name: "Pause alerts" }).click();
    await page.waitForSelector(".said");
    assert.equal((await site.get("/api/v1/site")).pauses[0].zone, 2);
    await other.getByRole("button", { name: "Let alerts come again" }).waitFor();
    await other.waitForSelector("#chart.drawn canvas");
    await other.getByRole("button", { name: "Let alerts come again" }).click();
    await other.waitForSelector(".said");
    assert.deepEqual((await site.get("/api/v1/site")).pauses, []);
    assert.deepEqual(page.faults.concat(other.faults), []);
    await page.context().close();
    await other.context().close();
  },

  async "the chart tells what it shows at a place, in the site's time"() {
    const page = await openPage(browser, site);
    await page.goto(site.address + "/zone/2?range=run");
    await settled(page);
    const box = await page.locator("#chart .u-over").boundingBox();
    await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    const words = await page.waitForFunction(() => document.getElementById("readout").textContent);
    assert.match(await words.jsonValue(), /^\d+ \w+ \d{4}, \d\d:\d\d:\d\d: 0\.3\d\d to 0\.3\d\d A, mean 0\.3\d\d A/);
    const hour = Number((await words.jsonValue()).match(/, (\d\d):/)[1]);
    const start = new Date((await site.get("/api/v1/zones/2")).last_run.start);
    const there = Number(new Intl.DateTimeFormat("en-GB", { timeZone: "America/Boise", hour: "2-digit", hourCycle: "h23" }).format(start));
    assert.ok((hour - there + 24) % 24 <= 1, `${hour} is the hour at the site, ${there}`);
    await page.context().close();
  },

  async "nothing moves while a page loads"() {
    const page = await openPage(browser, site, { viewport: kSizes.phone });
    await page.addInitScript(() => {
      window.shift = 0;
      new PerformanceObserver((list) => { for (const e of list.getEntries()) if (!e.hadRecentInput) window.shift += e.value; }).observe({ type: "layout-shift", buffered: true });
    });
    for (const path of ["/", "/zone/4", "/zone/4/live", `/finding/${finding.id}`]) {
      await page.goto(site.address + path);
      await settled(page);
      assert.ok((await page.evaluate(() => window.shift)) < 0.02, `${path} stays in place`);
    }
    await page.context().close();
  },

  async "it is light and quick"() {
    const page = await openPage(browser, site, { viewport: kSizes.phone });
    const wire = await page.context().newCDPSession(page);
    await wire.send("Network.enable");
    await wire.send("Emulation.setCPUThrottlingRate", { rate: 4 });
    let bytes = 0;
    wire.on("Network.loadingFinished", (event) => { bytes += event.encodedDataLength; });
    for (const [name, path] of [["site", "/"], ["zone", "/zone/4"], ["year", "/zone/2?range=year&lay=12"], ["finding", `/finding/${finding.id}`], ["live", "/zone/4/live"]]) {
      bytes = 0;
      await wire.send("Network.clearBrowserCache");
      await page.goto(site.address + path);
      await settled(page);
      const paint = await page.evaluate(() => performance.getEntriesByName("first-contentful-paint")[0].startTime);
      figures[name] = { bytes, firstPaintMs: Math.round(paint) };
      assert.ok(bytes > 3000 && bytes < 150_000, `${path} is ${bytes} bytes`);
      if (name === "year") figures.year.drawnMs = Math.round(await page.evaluate(() => performance.now()));
      assert.ok(paint < 3000, `${path} is painted after ${paint} ms on a machine four times slower`);
    }
    await page.context().close();
  },

  async "a form from elsewhere does nothing"() {
    const page = await openPage(browser, site);
    await page.route("http://elsewhere.test/**", (route) => route.fulfill({ contentType: "text/html",
      body: `<form method="post" action="${site.address}/pause"><input name="for" value="2h"><button>Go</button></form>` }));
    await page.goto("http://elsewhere.test/");
    const [answer] = await Promise.all([page.waitForResponse((r) => r.url().endsWith("/pause")), page.click("button")]);
    assert.equal(answer.status(), 403);
    assert.deepEqual((await site.get("/api/v1/site")).pauses, []);
    await page.context().close();
  },

  ...commissionTests({ browser: () => browser, bin, screens }),
  ...sheetTests({ browser: () => browser, site: () => site, screens }),
  ...noteTests({ browser: () => browser, site: () => site, screens }),  // after the sheets, which print without colours
  ...mailTests(() => browser),
  ...phoneTests({ browser: () => browser, site: () => site, bin, screens }),
  ...loginTests({ browser: () => browser, bin, screens }),

  // The last: it ends the daemon and starts another.
  async "a stop ends the stream at once, the pages say that nothing comes, and come back by themselves"() {
    const page = await openPage(browser, site), hand = await openPage(browser, site);
    await page.goto(site.address);
    await hand.goto(site.address + "/zone/6/live");
    for (const one of [page, hand]) await settled(one);
    assert.ok((await site.stopDaemon()) < 5000);
    for (const one of [page, hand]) await one.waitForFunction(() => document.getElementById("live").textContent === "No connection; trying again");
    await site.startDaemon();
    await until("a broker that is heard", async () => {
      site.say("measure/zone/6/current", "0.234");
      return (await site.get("/api/v1/zones/6")).latest_amps === 0.234;
    });
    for (const one of [page, hand]) await one.waitForFunction(() => document.getElementById("live").textContent === "Live");
    await hand.waitForFunction(() => document.querySelector('[data-now="amps"]').textContent === "0.234 A");
    assert.equal((await site.get("/api/v1/test-runs")).test_runs[0].who, "Ana", "what was asked for is kept");
    await page.context().close();
    await hand.context().close();
  },
};

async function pictures() {
  mkdirSync(screens, { recursive: true });
  for (const [name, path, size, colorScheme, high] of [["site-phone", "/", "phone", "light", 1240], ["site-dark", "/", "phone", "dark", 1240], ["zone-desk", "/zone/4?range=month", "desk", "light"],
    ["finding-phone", `/finding/${finding.id}`, "phone", "light", 1240]]) {
    const page = await openPage(browser, site, { viewport: kSizes[size], colorScheme });
    await page.goto(site.address + path);
    await settled(page);
    await page.screenshot({ path: join(screens, name + ".png"), fullPage: size === "phone", clip: size === "phone" ? { x: 0, y: 0, width: 360, height: high } : undefined });
    await page.context().close();
  }
  await mailPictures(browser, screens);
}

// A splice that makes contact, seen at the valve.
async function pictureInHand() {
  const page = await openPage(browser, site, { viewport: kSizes.phone });
  const normal = (await site.get("/api/v1/zones/6")).normal.hold_amps;
  site.say("measure/zone/6/command", "on");
  await page.goto(site.address + "/zone/6/live");
  await settled(page);
  for (const share of [0, 0, 0, 0, 0.3, 0, 0.35, 0.4, 0.4, 0.7, 0.72, 0.9, 0.91, 0.9]) {
    site.say("measure/zone/6/current", (share * normal).toFixed(4));
    await page.waitForTimeout(900);
  }
  await page.screenshot({ path: join(screens, "live-phone.png") });
  site.say("measure/zone/6/current", "0.001");
  site.say("measure/zone/6/command", "off");
  await page.context().close();
}

let failed = 0;
site = new Site(bin);
try {
  await site.open();
  browser = await openBrowser();
  if (screens) { await paths(); await pictures(); await pictureInHand(); }
  for (const [name, test] of Object.entries(tests).filter(([one]) => one.includes(process.env.COILWARD_BROWSER_ONLY ?? ""))) {
    const start = Date.now();
    try {
      await test();
      console.log(`ok      ${name} (${Date.now() - start} ms)`);
    } catch (error) {
      ++failed;
      console.log(`FAILED  ${name}\n${error.stack}`);
    }
  }
  console.log(`${Object.keys(tests).length} tests, ${failed} failed; ${JSON.stringify(figures)}`);
} finally {
  await browser?.close();
  await site.close();
}
process.exitCode = failed ? 1 : 0;
