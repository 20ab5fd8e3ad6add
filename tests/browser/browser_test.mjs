// A real browser over the page of a real coilwardd. node tests/browser/browser_test.mjs BIN [SCREENS]: BIN is where the
// programs are; SCREENS, a directory that pictures are put into.
import assert from "node:assert/strict";
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { Site, until } from "./site.mjs";
import { mailPictures, mailTests } from "./mail_tests.mjs";
import { phoneTests } from "./phone_tests.mjs";
import { accessible, kSizes, noSidewaysScroll, openBrowser, openPage, settled } from "./pages.mjs";

const [bin, screens] = process.argv.slice(2);
let site, browser, finding, figures = {};

async function paths() {
  finding = (await site.get("/api/v1/findings")).findings[0];
  return ["/", "/zone/4", "/zone/2?range=day", "/zone/2?range=month", "/zone/0", `/finding/${finding.id}`];
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

  async "without a script everything is there and can be done"() {
    const page = await openPage(browser, site, { javaScriptEnabled: false, viewport: kSizes.phone });
    for (const path of await paths()) {
      await page.goto(site.address + path);
      await noSidewaysScroll(page, path);
      if (path.startsWith("/zone")) assert.ok((await page.locator("#chart svg path").count()) > 0, `${path} has its drawing`);
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
    for (const path of ["/", "/zone/4"]) {
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
    for (const [name, path] of [["site", "/"], ["zone", "/zone/4"]]) {
      bytes = 0;
      await wire.send("Network.clearBrowserCache");
      await page.goto(site.address + path);
      await settled(page);
      const paint = await page.evaluate(() => performance.getEntriesByName("first-contentful-paint")[0].startTime);
      figures[name] = { bytes, firstPaintMs: Math.round(paint) };
      assert.ok(bytes > 3000 && bytes < 150_000, `${path} is ${bytes} bytes`);
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

  ...mailTests(() => browser),
  ...phoneTests({ browser: () => browser, site: () => site, bin, screens }),

  // The last: it ends the daemon.
  async "a stop ends the stream at once, and the page says that nothing comes"() {
    const page = await openPage(browser, site);
    await page.goto(site.address);
    await settled(page);
    assert.ok((await site.stopDaemon()) < 5000);
    await page.waitForFunction(() => document.getElementById("live").textContent === "No connection; trying again");
    await page.context().close();
  },
};

async function pictures() {
  mkdirSync(screens, { recursive: true });
  for (const [name, path, size, colorScheme] of [["site-phone", "/", "phone", "light"], ["site-dark", "/", "phone", "dark"], ["zone-desk", "/zone/4?range=month", "desk", "light"]]) {
    const page = await openPage(browser, site, { viewport: kSizes[size], colorScheme });
    await page.goto(site.address + path);
    await settled(page);
    await page.screenshot({ path: join(screens, name + ".png"), fullPage: size === "phone", clip: size === "phone" ? { x: 0, y: 0, width: 360, height: 1240 } : undefined });
    await page.context().close();
  }
  await mailPictures(browser, screens);
}

let failed = 0;
site = new Site(bin);
try {
  await site.open();
  browser = await openBrowser();
  if (screens) { await paths(); await pictures(); }
  for (const [name, test] of Object.entries(tests)) {
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
