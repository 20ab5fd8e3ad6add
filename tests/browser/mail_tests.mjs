// The HTML of a mail as a mail program on a phone shows it: the file that the email notifier's own test holds what it
// sends against.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { accessible, kSizes, noSidewaysScroll, openPage } from "./pages.mjs";

const kMail = new URL("../../plugins/notifiers/email/cases/drawing/expected.html", import.meta.url);

async function mail(browser, options) {
  const page = await openPage(browser, { address: "" }, { javaScriptEnabled: true, ...options });
  await page.setContent(readFileSync(kMail, "utf8"));
  return page;
}

export const mailTests = (browser) => ({
  async "a mail is readable on a phone by day and by night and asks nobody for anything"() {
    for (const colorScheme of ["light", "dark"])
      for (const viewport of [kSizes.phone, kSizes.narrow]) {
        const page = await mail(browser(), { viewport, colorScheme });
        await noSidewaysScroll(page, `the mail at ${viewport.width}`);
        await accessible(page, `the mail at ${viewport.width}, ${colorScheme}`);
        assert.equal(await page.locator("svg polyline").count(), 1);
        const size = await page.locator("p").first().evaluate((e) => parseFloat(getComputedStyle(e).fontSize));
        assert.ok(size >= 16, "no smaller than a phone's own text");
        assert.deepEqual(page.foreign, []);
        await page.context().close();
      }
  },
});

export async function mailPictures(browser, screens) {
  for (const [name, colorScheme] of [["mail-phone", "light"], ["mail-dark", "dark"]]) {
    const page = await mail(browser, { viewport: kSizes.phone, colorScheme });
    await page.screenshot({ path: join(screens, name + ".png"), fullPage: true });
    await page.context().close();
  }
}
