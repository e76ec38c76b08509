// Opens a page from disk in headless Chromium at 390 and 1280 px, light and dark, and prints as JSON what axe-core
// objects to, what the page asked the network for, its errors, and whether slider and pictures answer to the keyboard.
const fs = require("fs");
const { chromium } = require("playwright-core");

async function look(browser, url, width, scheme) {
  const context = await browser.newContext({ viewport: { width, height: 900 }, colorScheme: scheme, bypassCSP: true });
  const page = await context.newPage();
  const seen = { width, scheme, requests: [], errors: [] };
  page.on("request", (r) => { if (!r.url().startsWith("data:") && r.url() !== url) { seen.requests.push(r.url()); } });
  page.on("pageerror", (e) => seen.errors.push(e.message));
  page.on("console", (m) => { if (m.type() === "error") { seen.errors.push(m.text()); } });
  await page.goto(url);
  seen.tooWide = await page.evaluate(() => document.documentElement.scrollWidth > window.innerWidth);
  seen.heading = await page.textContent("#frame-words");
  await page.focus("input[name=earlier]:checked");
  await page.keyboard.press("ArrowLeft");
  seen.headingAfter = await page.textContent("#frame-words");
  seen.toldAfter = await page.textContent("#told");
  await page.focus("#share");
  await page.keyboard.press("End");
  seen.split = await page.getAttribute("#left rect", "width");
  await page.evaluate(fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8"));
  const found = await page.evaluate(() => axe.run(document));
  seen.violations = found.violations.map((v) => `${v.id}: ${v.nodes[0].html.slice(0, 120)}`);
  seen.passes = found.passes.length;
  await context.close();
  return seen;
}

(async () => {
  const browser = await chromium.launch({ executablePath: process.argv[2], args: ["--no-sandbox"] });
  const all = [];
  for (const width of [390, 1280]) {
    for (const scheme of ["light", "dark"]) { all.push(await look(browser, "file://" + process.argv[3], width, scheme)); }
  }
  await browser.close();
  console.log(JSON.stringify(all));
})();
