// Photos and notes: real pictures of a real browser, sent by its form, kept by the daemon, drawn again.
import assert from "node:assert/strict";
import { join } from "node:path";
import { until } from "./site.mjs";
import { accessible, kSizes, noSidewaysScroll, openPage } from "./pages.mjs";

// A picture 60 wide and 40 high, as this browser makes it.
const drawn = async (page, type) => Buffer.from(await page.evaluate(async (mime) => {
  const canvas = Object.assign(document.createElement("canvas"), { width: 60, height: 40 });
  const pen = canvas.getContext("2d");
  pen.fillStyle = "#274";
  pen.fillRect(0, 0, 60, 40);
  pen.fillStyle = "#c83";
  pen.fillRect(10, 10, 20, 20);
  return canvas.toDataURL(mime, 0.9).split(",")[1];
}, type), "base64");

// As a telephone held upright writes it: turned (6), and with the place in it.
function fromTelephone(jpeg) {
  const tiff = Buffer.alloc(60);
  tiff.write("II*\0", 0, "latin1");
  tiff.writeUInt32LE(8, 4);
  tiff.writeUInt16LE(2, 8);
  const entry = (at, tag, type, value) => { tiff.writeUInt16LE(tag, at); tiff.writeUInt16LE(type, at + 2); tiff.writeUInt32LE(1, at + 4); tiff.writeUInt32LE(value, at + 8); };
  entry(10, 0x0112, 3, 6);
  entry(22, 0x8825, 4, 38);
  tiff.write("GPS 43.6150 N", 40, "latin1");
  const exif = Buffer.concat([Buffer.from("Exif\0\0", "latin1"), tiff]), head = Buffer.from([0xff, 0xe1, 0, exif.length + 2]);
  return Buffer.concat([jpeg.subarray(0, 2), head, exif, jpeg.subarray(2)]);
}

async function keep(page, { file, input = "#note-chosen", place, words, by }) {
  const form = page.locator("#add-note");
  if (!(await form.evaluate((d) => d.open).catch(() => false))) await form.locator("summary").click();
  if (file) await page.locator(input).setInputFiles(file);
  if (place) await page.locator("#note-place").selectOption(place);
  await page.locator("#note-words").fill(words ?? "");
  await page.locator("#note-by").fill(by ?? "");
  await form.getByRole("button", { name: "Keep it" }).click();
  await page.waitForSelector(".said, h1");
}

export const noteTests = ({ browser, site, screens }) => ({
  async "photos of every kind are kept at their place, drawn upright, and tell no place"() {
    const page = await openPage(browser(), site(), { viewport: kSizes.phone });
    const { id } = await site().finding(), path = `${site().address}/finding/${id}`;
    await page.goto(path);
    const files = { "IMG_1.jpg": fromTelephone(await drawn(page, "image/jpeg")), "IMG_2.png": await drawn(page, "image/png"), "IMG_3.webp": await drawn(page, "image/webp") };
    for (const [name, buffer] of Object.entries(files)) {
      await keep(page, { file: { name, mimeType: "application/octet-stream", buffer }, place: "B", words: `the splice, ${name}`, by: "Ana" });
      assert.match(await page.locator(".said").textContent(), /^Kept/);
    }
    const { notes } = await site().get(`/api/v1/findings/${id}/notes`);
    assert.deepEqual(notes.map((n) => [n.at, n.by, n.picture.type]), ["jpeg", "png", "webp"].map((t) => ["B", "Ana", `image/${t}`]));
    for (const where of [path, path + "/sheet"]) {
      await page.goto(where);
      const images = page.locator(".note img");
      assert.equal(await images.count(), 3);
      for (let i = 0; i < 3; ++i) {
        await images.nth(i).scrollIntoViewIfNeeded();
        await until("the picture", () => images.nth(i).evaluate((e) => e.complete && e.naturalWidth > 0));
      }
      assert.deepEqual(await images.nth(0).evaluate((e) => [e.naturalWidth, e.naturalHeight]), [40, 60], "upright, as the telephone was held");
      assert.deepEqual(await images.nth(1).evaluate((e) => [e.naturalWidth, e.naturalHeight]), [60, 40]);
      await noSidewaysScroll(page, "photos");
      await accessible(page, "photos");
    }
    if (screens) await page.screenshot({ path: join(screens, "photos-phone.png"), fullPage: true });
    const answer = await fetch(site().address + notes[0].picture.path), bytes = Buffer.from(await answer.arrayBuffer());
    assert.equal(answer.headers.get("content-type"), "image/jpeg");
    assert.equal(answer.headers.get("x-content-type-options"), "nosniff");
    assert.ok(!bytes.includes("GPS") && bytes.includes("Exif"), "the place is gone, how it is turned is not");
    assert.deepEqual(page.faults.concat(page.foreign), []);
    await page.context().close();
  },

  async "without a script a photo is kept and deleted, and what is none is refused"() {
    const drawing = await openPage(browser(), site());
    await drawing.goto(site().address);
    const png = await drawn(drawing, "image/png");
    await drawing.context().close();
    const page = await openPage(browser(), site(), { viewport: kSizes.phone, javaScriptEnabled: false });
    const { id } = await site().finding(), path = `${site().address}/finding/${id}`;
    const kept = async () => (await site().get(`/api/v1/findings/${id}/notes`)).notes;
    const before = (await kept()).length;
    await page.goto(path);
    await page.locator("#add-note summary").click();
    await page.locator("#note-photo").setInputFiles({ name: "evil.jpg", mimeType: "image/jpeg", buffer: Buffer.from("<html><script>alert(1)</script>") });
    await page.getByRole("button", { name: "Keep it" }).click();
    assert.match(await page.locator("main").textContent(), /this is no JPEG, PNG or WebP picture/);
    assert.equal((await kept()).length, before);
    await page.goto(path);
    await page.locator("#add-note summary").click();
    await page.locator("#note-photo").setInputFiles({ name: "../../x.jpg", mimeType: "image/jpeg", buffer: png });
    await page.getByRole("button", { name: "Keep it" }).click();
    await page.waitForURL("**said=noted**");
    assert.equal((await kept()).length, before + 1);
    await page.locator(".note").last().getByRole("button", { name: "Delete this photo" }).click();
    await page.waitForURL("**said=note_removed**");
    assert.equal((await kept()).length, before);
    await page.context().close();
  },
});
