// Visit sheets: on the phone, and on paper as A4 and Letter.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { accessible, kSizes, noSidewaysScroll, openPage } from "./pages.mjs";

const kPaper = { A4: "A4", Letter: "Letter" };

// The text of each page (poppler).
const pagesOf = (file) => execFileSync("pdftotext", ["-layout", file, "-"], { encoding: "utf8" }).split("\f").slice(0, -1);
const count = (text, what) => text.split(what).length - 1;

// Every dot of every page is black, white or grey: what a printer without colours shows is all there is.
function withoutColour(file, directory) {
  execFileSync("pdftoppm", ["-r", "40", file, join(directory, "dots")]);
  for (const name of readdirSync(directory).filter((one) => one.startsWith("dots") && one.endsWith(".ppm"))) {
    const bytes = readFileSync(join(directory, name));
    const start = bytes.indexOf("255\n") + 4;
    for (let i = start; i < bytes.length; i += 3)
      assert.ok(Math.abs(bytes[i] - bytes[i + 1]) < 3 && Math.abs(bytes[i] - bytes[i + 2]) < 3, `a colour in ${name}: ${bytes.subarray(i, i + 3).join()}`);
  }
}

async function printed(page, path, format, directory) {
  const file = join(directory, `sheet-${format}.pdf`);
  await page.goto(path);
  await page.pdf({ path: file, format: kPaper[format] });
  return { file, pages: pagesOf(file) };
}

export const sheetTests = ({ browser, site, screens }) => ({
  async "a visit sheet prints on A4 and Letter, and no reading is cut in two"() {
    const page = await openPage(browser(), site(), { colorScheme: "dark" });
    const finding = await site().finding();
    const sheet = await site().get(`/api/v1/findings/${finding.id}/sheet`);
    for (const format of Object.keys(kPaper)) {
      const { file, pages } = await printed(page, `${site().address}/finding/${finding.id}/sheet`, format, screens ?? site().directory);
      const all = pages.join("\n").replace(/\s+/g, " ");
      assert.ok(pages.length >= 2 && pages.length <= 4, `${pages.length} pages of ${format}`);
      for (const part of [sheet.title, "Alder Yard", finding.id, "Where", "Evidence", "Take care", "Bring along", "Notes", "Repair", "What was done",
        "before you reach into a wet box", "licensed electrician", "located before you dig", "Follow the local codes"])
        assert.ok(all.includes(part), `${format}: ${part}`);
      for (const [i, text] of pages.entries()) assert.match(text, new RegExp(`${i + 1} ?/ ?${pages.length}\\s*$`), "its number at its foot");
      for (const step of sheet.steps) assert.ok(all.includes(`Reading ${step.step},`), `${format}: reading ${step.step}`);
      for (const [i, text] of pages.entries())
        assert.equal(count(text, /Reading \d+,/), count(text, "at (time)") - count(text, "It draws after the repair"), `${format}, page ${i + 1}: readings whole`);
      assert.ok(!all.includes("Print this page"), "what is for the screen stays there");
      withoutColour(file, site().directory);
    }
    await page.context().close();
  },

  async "the visit sheets of a site begin each finding on a page of its own"() {
    const page = await openPage(browser(), site());
    const visit = await site().get("/api/v1/visit");
    const { pages } = await printed(page, site().address + "/visit", "A4", site().directory);
    assert.match(pages[0], /Visit to Alder Yard/);
    for (const sheet of visit.sheets) {
      const at = pages.findIndex((text, i) => i > 0 && text.replace(/\s+/g, " ").includes(sheet.id));
      assert.ok(at > 0 && pages[at].replace(/\s+/g, " ").indexOf(sheet.title.slice(0, 30)) < 200, `${sheet.id} begins its page`);
    }
    await page.context().close();
  },

  async "visit sheets fit a phone, with and without a script, and break no rule of accessibility"() {
    const finding = await site().finding();
    for (const [name, viewport] of Object.entries(kSizes))
      for (const colorScheme of ["light", "dark"]) {
        const page = await openPage(browser(), site(), { viewport, colorScheme });
        for (const path of ["/visit", `/finding/${finding.id}/sheet`]) {
          await page.goto(site().address + path);
          await noSidewaysScroll(page, `${path} at ${name}`);
          await accessible(page, `${path} at ${name}, ${colorScheme}`);
          if (screens) await page.screenshot({ path: join(screens, `sheet-${path === "/visit" ? "site-" : ""}${name}-${colorScheme}.png`), fullPage: true });
        }
        assert.deepEqual(page.faults.concat(page.foreign), []);
        await page.context().close();
      }
  },

  async "the finding leads to its sheet, and the site to all of them"() {
    const page = await openPage(browser(), site(), { viewport: kSizes.phone, javaScriptEnabled: false });
    await page.goto(site().address);
    await page.getByRole("link", { name: "Visit sheets, to print and take along" }).click();
    assert.equal(await page.locator("h1").textContent(), "Visit to Alder Yard");
    const finding = await site().finding();
    await page.goto(`${site().address}/finding/${finding.id}`);
    await page.getByRole("link", { name: "Visit sheet, to print and take along" }).click();
    await page.waitForURL("**/sheet");
    await page.context().close();
  },
});
