// A new site, walked through on a phone at the controller: with a script, and without.
import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { Site, until } from "./site.mjs";
import { accessible, kSizes, noSidewaysScroll, openPage } from "./pages.mjs";

const kAmps = 0.23;  // of an ordinary coil (common practice)

// What is answered to a question; the sensors do what the controller would. Zone 2's and 3's are swapped.
function answerTo(site, text) {
  const [, zone, way] = text.match(/Switch zone (\d+) (on|off)/) ?? [];
  if (zone) {
    const sensor = { 2: 3, 3: 2 }[zone] ?? zone;
    for (let n = 1; n <= 6; ++n) site.say(`measure/zone/${n}/current`, way === "on" && n === Number(sensor) ? String(kAmps) : "0.0005");
    return { press: "Done" };
  }
  if (/boxes are known. Keep them/.test(text)) return { press: "Yes" };
  if (/are swapped/.test(text)) return { press: "Map it in the configuration" };
  if (/printed on one solenoid/.test(text)) return { type: String(kAmps) };
  if (/Look again, or go on/.test(text)) return { press: "Keep it as it is" };
  return {};
}

async function walk(page, site, { each = async () => {}, most = 80 } = {}) {
  await page.goto(site.address + "/commission");
  await page.getByRole("button", { name: "Begin" }).click();
  for (let i = 0; i < most; ++i) {
    await until("a question or the end", async () => (await page.locator("pre.file").count()) || (await page.locator('input[name="step"]').count()), 90);
    if (await page.locator("pre.file").count()) return;
    const form = page.locator('form[action="/commission/answer"]');
    const { press, type } = answerTo(site, await form.textContent());
    await each(page, i);
    if (type !== undefined) await page.locator("#answer").fill(type);
    await form.getByRole("button", { name: press ?? "Go on" }).click();
  }
  assert.fail("the walk has no end");
}

export const commissionTests = ({ browser, bin, screens }) => ({
  async "a walk through a new site on the phone finds swapped sensors and ends in a configuration that is good"() {
    const own = new Site(bin, { learned: false });
    try {
      await own.open();
      const before = await own.get("/api/v1/site");
      const page = await openPage(browser(), own, { viewport: kSizes.phone });
      const seen = new Set();
      await walk(page, own, { each: async (p) => {
        const kind = (await p.locator("#answer").count()) ? "text" : (await p.locator('form[action="/commission/answer"] button').count()) > 2 ? "choice" : "done";
        if (seen.has(kind)) return;
        seen.add(kind);
        await noSidewaysScroll(p, `a question of kind ${kind}`);
        await accessible(p, `a question of kind ${kind}`);
        if (screens) await p.screenshot({ path: join(screens, `commission-${kind}.png`), fullPage: true });
      } });
      assert.deepEqual([...seen].sort(), ["choice", "done", "text"]);
      await noSidewaysScroll(page, "the configuration");
      await accessible(page, "the configuration");
      if (screens) await page.screenshot({ path: join(screens, "commission-end.png"), fullPage: true });
      const text = await (await fetch(own.address + "/commission/site.toml")).text();
      assert.match(text, /topic = "coilward\/alder-yard\/measure\/zone\/3\/current"\nchannel = "zone\/2\/current"/);
      assert.match(text, /0\.230 A at commissioning/);
      writeFileSync(join(own.directory, "new.toml"), text);
      execFileSync(join(bin, "coilward"), ["check-config", join(own.directory, "new.toml")], { stdio: "pipe" });
      assert.deepEqual((await own.get("/api/v1/site")).zones, before.zones, "the daemon's own configuration is as it was");
      assert.deepEqual(page.faults.concat(page.foreign), []);
      await page.context().close();
    } finally {
      await own.close();
    }
  },

  async "the walk goes on without a script, and ends when it is told to"() {
    const own = new Site(bin, { learned: false });
    try {
      await own.open();
      const page = await openPage(browser(), own, { viewport: kSizes.phone, javaScriptEnabled: false });
      await walk(page, own, { each: async (p, i) => { if (i === 12) throw new Error("far enough"); } }).catch((error) => { if (error.message !== "far enough") throw error; });
      assert.match(await page.locator("main").textContent(), /Zone 1: 0\.2\d* A/);
      await page.getByRole("button", { name: "End it without a result" }).click();
      await page.getByRole("button", { name: "Begin" }).waitFor();
      await page.context().close();
    } finally {
      await own.close();
    }
  },
});
