// Opens reports in a real browser: no errors, nothing fetched, and readable on a narrow phone.
import { pathToFileURL } from 'node:url';
import { check, end, sideways, watched } from './common.mjs';

for (const file of process.argv.slice(2)) {
  for (const [name, width, height] of [['desktop', 1200, 900], ['phone', 360, 740]]) {
    const page = await watched({ viewport: { width, height } }, (url) => url.startsWith('file:'));
    await page.goto(pathToFileURL(file).href);
    check(`${file} on a ${name}: no errors, nothing fetched ${page.errors}`, page.errors.length === 0);
    const wide = await sideways(page);
    check(`${file} on a ${name}: no sideways scrolling (${wide} px)`, wide <= 0);
    const cut = await page.evaluate(() => [...document.querySelectorAll('.title, figcaption, .sideways')]
      .filter((e) => e.getBoundingClientRect().right > window.innerWidth).map((e) => e.textContent.slice(0, 40)));
    check(`${file} on a ${name}: no title and no table's box is cut ${cut}`, cut.length === 0);
    check(`${file} on a ${name}: one main heading`, await page.locator('h1').count() === 1);
    check(`${file} on a ${name}: pictures are named`, await page.locator('svg:not([role="img"])').count() === 0);
    check(`${file} on a ${name}: has pictures`, await page.locator('svg').count() > 0);
    check(`${file} on a ${name}: safety is there`, await page.getByText('surgical emergency').count() > 0);
    await page.context().close();
  }
}
await end();
