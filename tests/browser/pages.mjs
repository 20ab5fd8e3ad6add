// What every page is held to, at the sizes people have.
import assert from "node:assert/strict";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";

export const kSizes = { phone: { width: 360, height: 740 }, narrow: { width: 320, height: 640 }, desk: { width: 1280, height: 800 } };
const kAxe = createRequire(import.meta.url).resolve("axe-core/axe.min.js");

// No sandbox: tests run as root in a container. The rest keeps the browser from calling anywhere by itself.
const kFlags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync"];

export const openBrowser = () => chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: kFlags });

// A page that notes what goes wrong in it and whom it asks.
export async function openPage(browser, site, options = {}) {
  const context = await browser.newContext({ viewport: kSizes.desk, timezoneId: "Asia/Tokyo", ...options });
  const page = await context.newPage();
  page.faults = [];
  page.foreign = [];
  page.on("pageerror", (error) => page.faults.push(error.message));
  page.on("console", (message) => { if (["error", "warning"].includes(message.type())) page.faults.push(message.text()); });
  page.on("request", (request) => {
    const url = new URL(request.url());
    if (["http:", "https:", "ws:", "wss:"].includes(url.protocol) && url.origin !== site.address) page.foreign.push(request.url());
  });
  return page;
}

// Until the script of a zone's page has drawn, or for other pages until they are live.
export async function settled(page) {
  await page.waitForFunction(() => document.getElementById("live")?.textContent === "Live");
  if (await page.locator("#chart").count()) await page.waitForSelector("#chart.drawn canvas");
}

export async function noSidewaysScroll(page, what) {
  const [wide, seen] = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]);
  assert.ok(wide <= seen, `${what}: ${wide} px wide in ${seen} px`);
}

export async function accessible(page, what) {
  // Run beside the page's own policy, which refuses what is put into it.
  await page.evaluate(await (await import("node:fs/promises")).readFile(kAxe, "utf8"));
  const { violations, passes } = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations", "passes"] }));
  assert.deepEqual(violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html).join(" | ")}`), [], what);
  return passes.length;
}
