// The one file, opened from the disk of a phone with the network cut off. Usage: node pocket.mjs FILE.html [FOLDER FOR PICTURES]
import { chromium } from 'playwright-core';
import { readFileSync, mkdirSync, statSync } from 'node:fs';
import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';

const [file, pictures] = process.argv.slice(2);
const address = pathToFileURL(file).href;
if (pictures) mkdirSync(pictures, { recursive: true });
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
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
// Times and sizes are told beside what is to be reached; a machine that is busy is no mistake, so only the size is held.
function told(what, found, bound, unit) {
  console.log(`${what}: ${Math.round(found * 100) / 100} ${unit}, to reach ${bound}${found > bound ? ': NOT REACHED' : ''}`);
}

// The file on a phone, noting what goes wrong and what is fetched.
async function open(name, hash = '', { scheme = 'light', bypass = false } = {}) {
  const context = await browser.newContext({
    viewport: { width: 360, height: 740 }, deviceScaleFactor: 2, isMobile: true, hasTouch: true, colorScheme: scheme,
    bypassCSP: bypass, acceptDownloads: true, offline: true,
  });
  const page = await context.newPage();
  page.errors = [];
  page.on('console', (m) => { if (m.type() === 'error') page.errors.push(m.text()); });
  page.on('pageerror', (e) => page.errors.push(String(e)));
  page.on('request', (r) => { if (!/^(file|blob|data):/.test(r.url())) page.errors.push(`fetches ${r.url()}`); });
  page.shot = async (part) => { if (pictures) await page.screenshot({ path: `${pictures}/${`${name} ${part ?? ''}`.trim().replace(/\W+/g, '-')}.png` }); };
  page.finish = async () => {
    check(`${name}: no errors ${page.errors}`, page.errors.length === 0);
    await page.shot();
    await context.close();
  };
  const began = Date.now();
  await page.goto(address + hash);
  await page.locator('#ask').waitFor({ timeout: 60000 });
  page.took = Date.now() - began;
  return page;
}
async function until(what, holds) {
  for (let i = 0; i < 600; i += 1) {
    if (await holds()) return;
    await new Promise((done) => { setTimeout(done, 50); });
  }
  throw new Error(`waited in vain: ${what}`);
}
const now = async (page) => (await page.locator('#now').textContent()).trim();
const said = async (page) => (await page.locator('#answer').textContent()).trim();
const changed = (page, was) => until(`another answer than ${was.slice(0, 60)}`, async () => {
  const text = await said(page);
  return text !== '' && text !== was && await page.locator('#answer').getAttribute('aria-busy') !== 'true';
});
// Asks as the page's script does, and gives the text and the milliseconds.
const asks = (page, path, form, logs) => page.evaluate(async ([way, typed, texts]) => {
  const began = performance.now();
  const back = await globalThis.pocket.whole(way, typed, undefined, (texts ?? []).map((t) => new File([t], 'log.csv')));
  if (/class="(sorry|troubles)"|Drop a log/.test(back.text)) throw new Error(`${way}: no answer`);
  return { ms: performance.now() - began, text: back.text, status: back.status, memory: back.memory };
}, [path, form, logs]);

{
  const size = statSync(file).size;
  told('the file', size / 1e6, 2, 'MB');
}

// A measured speed to its verdict; the other tabs; back; reload.
{
  const page = await open('a reading');
  told('first page', page.took, 600, 'ms');
  const was = await said(page);
  await page.locator('#oil-temp').fill('-10 C');
  await changed(page, was);
  check('cold oil gives another answer', await said(page) !== was);
  check('the address stands behind #', page.url().includes('#/speed?') && page.url().includes('oil_temp'));
  await page.reload();
  await page.locator('#ask').waitFor();
  check('after a reload it is still there', await page.locator('#oil-temp').inputValue() === '-10 C');
  await page.getByRole('button', { name: 'What differs?' }).click();
  await page.locator('button[aria-current=page]', { hasText: 'What differs?' }).waitFor();
  check('what was typed came along', await page.locator('#oil-temp').inputValue() === '-10 C');
  await page.goBack();
  await page.locator('button[aria-current=page]', { hasNotText: 'What differs?' }).waitFor();
  await page.locator('#units').selectOption('us');
  await until('US units', async () => /°F/.test(await page.locator('#oil-temp').getAttribute('placeholder')));
  const [kept] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: 'Report' }).click()]);
  check('a report can be kept', readFileSync(await kept.path(), 'utf8').startsWith('<!DOCTYPE html>'));
  const box = page.locator('#oil-temp');
  await box.fill('90 furlongs');
  await until('what is wrong', async () => /furlongs/.test(await page.locator('#oil-temp-wrong').textContent()));
  check('it can be printed', (await page.pdf()).length > 10000);
  await page.finish();
}

// Every question from its own address, at 360 px in light and dark, and what axe-core finds.
for (const path of ['/speed?measured=640+rpm+%C2%B1+10+rpm', '/why', '/suspects', '/heat', '/auxfan?fan_speed=33+%25', '/trip', '/log', '/sweep', '/flush']) {
  const name = `pocket ${path.slice(1, 9)}`;
  const page = await open(name, `#${path}`, { bypass: true, scheme: path.length % 2 ? 'dark' : 'light' });
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  check(`${name}: no sideways scrolling (${wide} px)`, wide <= 0);
  check(`${name}: it answers`, (await said(page)).length > 20 && await page.locator('.sorry').count() === 0);
  await page.shot('first screen');
  await page.evaluate(axe);
  const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ['violations'] }));
  for (const v of found.violations) check(`${name}: ${v.id}: ${v.help}: ${v.nodes.slice(0, 2).map((n) => n.html.slice(0, 120)).join(' | ')}`, false);
  check(`${name}: axe-core looked`, found.passes.length > 10);
  await page.finish();
}

// Logs: one, two, and pasted.
const rows = (top, count = 3000) => `Time (sec),ECT (°C),Vehicle speed (km/h)\n${Array.from({ length: count }, (_, i) => `${i},${80 + Math.round((top - 80) * Math.sin(Math.min(i, 3000) / 955))},40`).join('\n')}`;
{
  const page = await open('log', '#/log');
  await page.locator('#log-file').setInputFiles({ name: 'road.csv', mimeType: 'text/csv', buffer: Buffer.from(rows(108)) });
  await until('the log', async () => /108/.test(await said(page)));
  await page.locator('#compare-file').setInputFiles({ name: 'after.csv', mimeType: 'text/csv', buffer: Buffer.from(rows(97)) });
  await until('the second log', async () => /97/.test(await page.locator('#answer, #more').allTextContents().then((t) => t.join(' '))));
  await page.locator('#drop').evaluate((drop, text) => {
    const carried = new DataTransfer();
    carried.items.add(new File([text], 'other.csv', { type: 'text/csv' }));
    drop.dispatchEvent(new DragEvent('drop', { dataTransfer: carried, bubbles: true, cancelable: true }));
  }, rows(101));
  await until('the log that was dropped', async () => /101/.test(await said(page)));
  await page.finish();
  const pasted = await open('pasted log', '#/log');
  await pasted.locator('#log-text').fill(rows(103, 2000));
  await until('the pasted log', async () => /103/.test(await said(pasted)));
  await pasted.finish();
}

// A panic, work that is given up, and what is too large.
{
  const page = await open('panic');
  await page.locator('#oil-temp').fill('31 C');
  await changed(page, '');
  const words = await page.evaluate(() => globalThis.pocket.ask('/panic', '').then(() => '', (e) => e.says ?? String(e)));
  check(`a panic says what happened: ${words}`, /asked to panic/.test(words) && /still here/.test(words));
  check('what was typed is still there', await page.locator('#oil-temp').inputValue() === '31 C');
  const was = await said(page);
  await page.locator('#oil-temp').fill('-20 C');
  await changed(page, was);
  const given = await page.evaluate(async () => {
    const abort = new AbortController();
    const long = globalThis.pocket.ask('/part/trip', 'trip=jam', abort.signal).then(() => 'answered', (e) => e.name);
    await new Promise((done) => { setTimeout(done, 60); });
    abort.abort();
    const end = await long;
    const began = performance.now();
    await globalThis.pocket.ask('/part/speed', '', undefined);
    return { end, ms: performance.now() - began };
  });
  check(`work that nobody waits for is given up: ${given.end}`, given.end === 'AbortError');
  console.log(`after work was given up, the next answer took ${Math.round(given.ms)} ms`);
  const large = await page.evaluate(() => globalThis.pocket.ask('/part/speed', `machine_text=${'x'.repeat(300000)}`, undefined));
  check('what is too large is refused', /up to 250 kB/.test(large));
  await page.finish();
}

// Times, and memory that stays.
{
  const page = await open('times');
  const times = async (what, path, form, bound, logs) => {
    const all = [];
    for (let i = 0; i < 5; i += 1) all.push((await asks(page, path, form, logs)).ms);
    told(`${what} (least of 5)`, Math.min(...all), bound, 'ms');
  };
  await times('speed', '/part/speed', '', 50);
  await times('difference', '/part/why', '', 50);
  await times('heat', '/part/heat', '', 80);
  await times('a jam', '/part/trip', 'trip=jam', 300);
  const log = Array.from({ length: 1 }, () => `Time (sec),ECT (°C),Vehicle speed (km/h),Engine RPM (rpm),Intake (°C)\n${Array.from({ length: 800000 }, (_, i) => `${i / 10},${80 + (i % 300) / 10},${(i % 900) / 10},1500,25.5`).join('\n')}`);
  console.log(`a log of ${Math.round(log[0].length / 1e5) / 10} MB`);
  await times('a 20 MB log', '/part/log', `first=${Buffer.byteLength(log[0])}`, 500, log);
  let first = 0;
  let last = 0;
  for (let i = 0; i < 500; i += 1) {
    const { memory } = await asks(page, i % 2 ? '/part/speed' : '/part/heat', `oil_temp=${20 + i / 10}+C`);
    if (i === 50) first = memory;
    last = memory;
  }
  console.log(`memory after 50 answers ${first / 2 ** 20} MB, after 500 ${last / 2 ** 20} MB`);
  check('memory stays flat', last <= first);
  await page.finish();
}
await browser.close();
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 ? 0 : 1);
