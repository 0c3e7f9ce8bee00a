// Opens reports in a real browser: no errors, nothing fetched, and readable on a narrow phone.
import { chromium } from 'playwright-core';
import { pathToFileURL } from 'node:url';

const browser = await chromium.launch({
  executablePath: '/usr/bin/chromium',
  args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
    '--disable-component-update', '--disable-sync'],
});
let passed = 0;
let failed = 0;
function check(what, holds) {
  if (holds) { passed += 1; } else { failed += 1; console.log(`FAILED: ${what}`); }
}
for (const file of process.argv.slice(2)) {
  for (const [name, width, height] of [['desktop', 1200, 900], ['phone', 360, 740]]) {
    const page = await browser.newPage({ viewport: { width, height } });
    const errors = [];
    const fetched = [];
    page.on('console', (m) => { if (m.type() === 'error') errors.push(m.text()); });
    page.on('pageerror', (e) => errors.push(String(e)));
    page.on('request', (r) => { if (!r.url().startsWith('file:')) fetched.push(r.url()); });
    await page.goto(pathToFileURL(file).href);
    check(`${file} on a ${name}: no errors ${errors}`, errors.length === 0);
    check(`${file} on a ${name}: fetches nothing ${fetched}`, fetched.length === 0);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    check(`${file} on a ${name}: no sideways scrolling (${wide} px)`, wide <= 0);
    const cut = await page.evaluate(() => [...document.querySelectorAll('.title, figcaption, .sideways')]
      .filter((e) => e.getBoundingClientRect().right > window.innerWidth).map((e) => e.textContent.slice(0, 40)));
    check(`${file} on a ${name}: no title and no table's box is cut ${cut}`, cut.length === 0);
    check(`${file} on a ${name}: one main heading`, await page.locator('h1').count() === 1);
    check(`${file} on a ${name}: pictures are named`, await page.locator('svg:not([role="img"])').count() === 0);
    check(`${file} on a ${name}: has pictures`, await page.locator('svg').count() > 0);
    check(`${file} on a ${name}: safety is there`, await page.getByText('surgical emergency').count() > 0);
    await page.close();
  }
}
await browser.close();
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 ? 0 : 1);
