// What all checks in the browser share: the browser itself, a count of what holds, waiting, axe-core, the notebook's own steps.
import { chromium } from 'playwright-core';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

export const browser = await chromium.launch({
  executablePath: '/usr/bin/chromium',
  args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
    '--disable-component-update', '--disable-sync'],
});
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
let passed = 0;
let failed = 0;
export function check(what, holds) {
  if (holds) { passed += 1; } else { failed += 1; console.log(`FAILED: ${what}`); }
}

// One part: where it breaks off, that is a failure, and the others are still run.
export async function part(run) {
  try { await run(); } catch (error) { check(String(error.stack).split('\n').filter((l) => /Error|waited|\w+\.mjs/.test(l)).slice(0, 4).join(' '), false); }
}

export async function end() {
  await browser.close();
  console.log(`${passed} passed, ${failed} failed`);
  process.exit(failed === 0 && passed > 0 ? 0 : 1);
}

// A page that notes what goes wrong, and what is fetched that is not allowed.
export async function watched(options, allowed) {
  const context = await browser.newContext({ acceptDownloads: true, ...options });
  const page = await context.newPage();
  page.errors = [];
  page.on('console', (m) => { if (m.type() === 'error') page.errors.push(m.text()); });
  page.on('pageerror', (e) => page.errors.push(String(e)));
  page.on('request', (r) => { if (!allowed(r.url())) page.errors.push(`fetches ${r.url()}`); });
  return page;
}

// Waits until something holds. The page forbids the evaluation of text, so this asks again and again from outside.
export async function until(what, holds, seconds = 5) {
  for (const began = Date.now(); Date.now() - began < 1000 * seconds;) {
    // While a page gives way to another there is nothing to look at.
    if (await holds().catch((error) => { if (!/context was destroyed/.test(error)) throw error; })) return;
    await new Promise((done) => { setTimeout(done, 50); });
  }
  throw new Error(`waited in vain: ${what}`);
}

// What a screen reader needs.
export async function sound(page, name) {
  await page.evaluate(axe);
  const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ['violations'] }));
  for (const v of found.violations) {
    check(`${name}: ${v.id}: ${v.help}: ${v.nodes.slice(0, 3).map((n) => n.html.slice(0, 120)).join(' | ')}`, false);
  }
  check(`${name}: axe-core looked`, found.passes.length > 10);
}
export const sideways = (page) => page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);

// The notebook: as the browser keeps it, as it stands there, and writing into it.
export const kept = async (page) => {
  let text = null;
  // A page that gives way to another is asked again.
  await until('the store', async () => { text = await page.evaluate(() => localStorage.getItem('oilwheel')); return true; });
  return JSON.parse(text ?? '[""]').at(-1);
};
export const notes = (page) => page.locator('#book .written li').allTextContents();
export const said = async (page) => (await page.locator('#answer .headline').textContent()).trim();
export const settled = (page, count, seconds) => until(`${count} notes`, async () => (await notes(page)).length === count, seconds);
export async function note(page, test, value, count, seconds) {
  if (test) await page.locator('#note-test').selectOption(test);
  await page.locator('#note-value').fill(value);
  await page.getByRole('button', { name: 'Add to notebook', exact: true }).click();
  await settled(page, count, seconds);
}

// A log of a scan tool, of a coolant that rises to a peak and falls again.
export const rows = (top, count = 3000) => `Time (sec),ECT (°C),Vehicle speed (km/h)\n${Array.from({ length: count },
  (_, i) => `${i},${80 + Math.round((top - 80) * Math.sin(i / 955))},40`).join('\n')}`;
