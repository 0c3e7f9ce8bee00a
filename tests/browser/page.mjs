// The page in a real browser: the way of one who mends, bad input, a narrow phone, light and dark, without a script, and
// what a screen reader needs (axe-core). Usage: node page.mjs http://127.0.0.1:PORT [FOLDER FOR PICTURES]
import { readFileSync, mkdirSync } from 'node:fs';
import { check, end, kept, note, notes, part, rows, said, settled, sideways, sound, until, watched } from './common.mjs';

const [base, pictures] = process.argv.slice(2).map((a) => a.replace(/\/$/, ''));
if (pictures) mkdirSync(pictures, { recursive: true });

// A page of a size and scheme that notes what goes wrong and what is fetched.
async function open(name, path, { width = 1280, height = 900, scheme = 'light', script = true, bypass = false } = {}) {
  const page = await watched({ viewport: { width, height }, colorScheme: scheme, javaScriptEnabled: script, bypassCSP: bypass }, (url) => url.startsWith(base));
  page.finish = async () => {
    check(`${name}: no errors ${page.errors}`, page.errors.length === 0);
    if (pictures) await page.screenshot({ path: `${pictures}/${name.replace(/\W+/g, '-')}.png`, fullPage: true });
    await page.context().close();
  };
  await page.goto(base + path);
  return page;
}

const number = async (page) => (await page.locator("[data-now]").textContent()).trim();
const rpm = (text) => Number(text.replace('−', '-').split(' ')[0]);
// Waits until the number is another one than it was.
const changed = (page, was) => until(`another number than ${was}`,
  async () => await page.locator('[data-now]').count() === 1 && await number(page) !== was);

// The main way: pick a machine, move a slide, swap the oil, see speed and reason.
await part(async () => {
  const began = Date.now();
  const page = await open('main way', '/');
  await page.getByLabel('This is a').selectOption('car');
  await page.waitForURL(/machine=car/);
  const idle = await number(page);
  const slide = page.getByLabel('Engine speed, slide');
  const moved = Date.now();
  await slide.focus();
  await page.keyboard.press('End');
  await changed(page, idle);
  console.log(`a slide moved: new number after ${Date.now() - moved} ms in the browser`);
  const full = await number(page);
  check(`faster at full engine speed: ${idle}, ${full}`, rpm(full) > rpm(idle));
  check('the box beside the slide follows', /rpm/.test(await page.locator('#engine-speed').inputValue()));
  check('the head shows the same number', (await page.locator('#now').textContent()).trim() === full);
  check('the address holds what was asked', page.url().includes('engine_speed='));
  await page.locator('#oil-temp').fill('-10 C');
  await changed(page, full);
  const cold = await number(page);
  await page.locator('#oil').selectOption('engine-10w-30');
  await changed(page, cold);
  check('the sentence says what limits it', /limited by/.test(await page.locator('#answer .headline').textContent()));
  check('a test to do next stands there', (await page.locator('#answer .next').textContent()).length > 20);
  check('a picture stands there', await page.locator('#answer .card svg').count() === 1);
  await page.locator('#oil').selectOption('');
  await page.getByRole('button', { name: 'What differs?' }).click();
  await page.waitForURL(/\/why/);
  check('what was typed came along', await page.locator('#oil-temp').inputValue() === '-10 C');
  const before = await number(page);
  await page.locator('#against-oil').selectOption('iso-vg-46');
  await changed(page, before);
  check('the difference has a sign and a unit', /^[+−-]?[\d.]+ rpm$/.test(await number(page)));
  check('the reason stands there, place by place', /place by place/.test(await page.locator('#answer .card').textContent()));
  const [file] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: 'Report' }).click()]);
  check('the report can be kept', /^oilwheel-why\.html$/.test(file.suggestedFilename())
    && readFileSync(await file.path(), 'utf8').startsWith('<!DOCTYPE html>'));
  console.log(`the main way took ${Date.now() - began} ms`);
  await page.finish();
});

// A number opens to its equation, its law, its source and its checks.
await part(async () => {
  const page = await open('a number opens', '/speed');
  const one = page.locator('.figures details', { hasText: 'slip in the pump' }).first();
  await one.locator('summary').focus();
  await page.keyboard.press('Enter');
  await one.getByRole('link', { name: /Wilson 1950/ }).click();
  const law = page.locator('.law[open]');
  check('its law opens', await law.count() === 1 && await law.isVisible());
  const text = await law.textContent();
  for (const word of ['Symbols', 'Holds for', 'Source', 'allowed', 'holds']) check(`the law tells: ${word}`, text.includes(word));
  await page.finish();
});

// Bad input stands beside its field, and goes when it is mended; open figures stay open.
await part(async () => {
  const page = await open('bad input', '/speed');
  const was = await number(page);
  await page.locator('.figures details').first().locator('summary').click();
  const box = page.locator('#oil-temp');
  await box.fill('90 furlongs');
  await until('what is wrong', async () => await page.locator('#oil-temp-wrong').textContent() !== '');
  check('it is said beside the field', /furlongs/.test(await page.locator('#oil-temp-wrong').textContent()));
  check('the field is marked for a screen reader', await box.getAttribute('aria-invalid') === 'true'
    && (await box.getAttribute('aria-describedby')).includes('oil-temp-wrong'));
  check('the answer before stays, pale', await page.locator('#answer.stale').count() === 1 && await number(page) === was);
  await box.fill('30 C');
  await changed(page, was);
  check('mended', await page.locator('#oil-temp-wrong').textContent() === '' && await page.locator('#answer.stale').count() === 0
    && await box.getAttribute('aria-invalid') === null);
  check('what was open stays open', await page.locator('.figures details[open]').count() === 1);
  await page.finish();
});
await part(async () => {
  const page = await open('bad input sent', '/speed');
  await page.goto(`${base}/speed?set.pump.ratio=99`);
  check('a part with a mistake is open', await page.locator('#set-pump-ratio').isVisible());
  check('the list leads to the field', await page.locator('.troubles a[href="#set-pump-ratio"]').count() === 1);
  page.errors = page.errors.filter((e) => !/422/.test(e));
  await page.finish();
});

// A fault, US units, and a machine file of one's own.
await part(async () => {
  const page = await open('fault and units', '/speed');
  const sound = await number(page);
  await page.getByText('Put a fault on').click();
  await page.locator('#with').selectOption('worn-pump');
  await page.waitForURL(/with=worn-pump/);
  await page.locator('#with-severity').fill('0.8');
  await changed(page, sound);
  check('worn, it is slower', rpm(await number(page)) < rpm(sound));
  await page.locator('#units').selectOption('us');
  await page.waitForURL(/units=us/);
  check('US units', /psi/.test(await page.locator('.figures').textContent()) && /°F/.test(await page.locator('#oil-temp').getAttribute('placeholder')));
  page.errors = page.errors.filter((e) => !/422/.test(e));
  await page.finish();
});
await part(async () => {
  const page = await open('own machine', '/download/machine.toml').catch(() => null);
  check('a file is no page', page === null);
  const own = await open('own machine', '/speed');
  const text = await (await own.request.get(`${base}/download/machine.toml?machine=bus`)).text();
  await own.getByText('A machine file of your own', { exact: true }).click();
  await own.locator('#machine-text-file').setInputFiles({ name: 'mine.toml', mimeType: 'text/plain', buffer: Buffer.from(text) });
  await until('the own machine', async () => await own.locator('#machine option').first().getAttribute('value') === '');
  check('it is used', (await own.locator('#machine option').first().textContent()).includes('bus'));
  const was = await number(own);
  await own.locator('#oil-temp').fill('20 C');
  await changed(own, was);
  await own.finish();
});

// One notebook on all tabs: a reading written down gives a verdict, and stays.
const rest = (page) => until('rest', async () => await page.locator('#answer').getAttribute('aria-busy') !== 'true'
  && await page.locator('#answer .headline, #answer .troubles').count() > 0);
const size = (page, what) => page.locator(what).first().evaluate((e) => parseFloat(getComputedStyle(e).fontSize));
await part(async () => {
  const page = await open('notebook', '/', { bypass: true });
  const before = await said(page);
  await note(page, '', '640', 1);
  const verdict = await said(page);
  check(`the verdict is about the reading: ${verdict}`, verdict !== before && /\b640\b/.test(verdict));
  const largest = await page.evaluate(() => Math.max(...[...document.body.querySelectorAll('*')]
    .filter((e) => e.offsetParent && !e.closest('svg') && [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim()))
    .map((e) => parseFloat(getComputedStyle(e).fontSize))));
  check(`the verdict is the largest text: ${largest}`, await size(page, '#answer .headline') === largest);
  check('no figure beside it in the head', (await page.locator('#now').textContent()).trim() === '');
  check('the ± is the instrument’s', /640 ± \d/.test((await notes(page))[0]));
  check('the box is empty again', await page.locator('#note-value').inputValue() === '');
  check('the address is without the notebook', !page.url().includes('book_text'));
  await sound(page, 'a reading written down');
  await page.getByRole('button', { name: 'What is wrong?' }).click();
  await page.waitForURL(/\/suspects/);
  await rest(page);
  check('it is on the other tab', /^fan speed at idle, oil warm: 640/.test((await notes(page))[0]));
  check('it is no longer nothing', !/Nothing is measured/.test(await said(page)));
  await page.getByRole('button', { name: 'What differs?' }).click();
  await page.waitForURL(/\/why/);
  await settled(page, 1);
  await page.goBack();
  await page.waitForURL(/\/suspects/);
  await settled(page, 1);
  check('back leads back', await page.locator('button[aria-current=page]').textContent() === 'What is wrong?');
  await page.goForward();
  await page.waitForURL(/\/why/);
  await settled(page, 1);
  await page.goto(base);
  await settled(page, 1);
  await until('the verdict again', async () => await said(page) === verdict);
  await page.reload();
  await settled(page, 1);
  check('after a reload it is there', /640 ± \d/.test((await notes(page))[0]));
  // A second one; undone; cleared; undone.
  await note(page, 'fan-speed-raised-hot', '1669 ± 5', 2);
  await page.getByRole('button', { name: 'Undo' }).click();
  await settled(page, 1);
  check('undone in the store too', !(await kept(page)).includes('fan-speed-raised-hot'));
  await page.getByRole('button', { name: 'Clear' }).click();
  await settled(page, 0);
  await until('the answer before', async () => await said(page) === before);
  check('cleared in the store too', await kept(page) === '');
  await page.getByRole('button', { name: 'Undo' }).click();
  await settled(page, 1);
  check('what was cleared comes back', /640 ± \d/.test((await notes(page))[0]));
  // A mistake loses nothing.
  await page.locator('#note-value').fill('640 furlongs');
  await page.keyboard.press('Enter');
  await until('what is wrong', async () => /furlongs/.test(await page.locator('#note-value-wrong').textContent()));
  check('what was typed stands there still', await page.locator('#note-value').inputValue() === '640 furlongs');
  check('it is marked', await page.locator('#note-value').getAttribute('aria-invalid') === 'true');
  check('the notebook stays', (await notes(page)).length === 1 && /640/.test(await kept(page)));
  await sound(page, 'a bad reading');
  await page.locator('#note-value').fill('655');
  await page.keyboard.press('Enter');
  await until('mended', async () => await page.locator('#note-value').inputValue() === '' && /655/.test(await kept(page)));
  check('its mark is gone', await page.locator('#note-value-wrong').textContent() === '');
  await page.finish();
});
await part(async () => {
  // The notebook's machine is the page's, on another day and from a file.
  const page = await open('notebook of a bus', '/speed?machine=bus');
  await note(page, 'fan-speed-idle-hot', '500 ± 10', 1);
  const verdict = await said(page);
  await page.goto(base);
  await until('the bus', async () => await page.locator('#machine').inputValue() === 'bus');
  await until('its verdict', async () => await said(page) === verdict);
  check('the notebook is the bus’s still', /machine *= *"bus"/.test(await kept(page)));
  const [file] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: 'Keep as a file' }).click()]);
  const text = readFileSync(await file.path(), 'utf8');
  check('the file is a notebook', file.suggestedFilename() === 'notebook.toml' && /machine *= *"bus"/.test(text) && /500/.test(text));
  const other = await open('notebook from a file', '/');
  await other.locator('#book-file').setInputFiles({ name: 'n.toml', mimeType: 'text/plain', buffer: Buffer.from(text) });
  await until('the bus', async () => await other.locator('#machine').inputValue() === 'bus' && (await notes(other)).length === 1);
  await until('the same verdict', async () => await said(other) === verdict);
  // One that cannot be read is told of, and what is kept stays.
  await other.locator('#book-file').setInputFiles({ name: 'n.toml', mimeType: 'text/plain', buffer: Buffer.from('machine = "bus"\nreadings = "butter') });
  await until('what is wrong', async () => await other.locator('#book-text-wrong').textContent() !== '');
  check('what is kept stays', await kept(other) === text);
  await other.getByRole('button', { name: 'Undo' }).click();
  await until('the text again', async () => await other.locator('#book-text').inputValue() === text);
  await until('nothing is wrong any more', async () => await other.locator('#book-text-wrong').textContent() === '');
  await other.finish();
  await page.finish();
});
await part(async () => {
  // Names in a notebook stay words, wherever they come from.
  const page = await open('nasty notebook', '/');
  const nasty = '<img src=x onerror=document.title=1>';
  for (const text of [`machine = "${nasty}"`, `name = "${nasty}"\nmachine = "light-truck"\noil = "${nasty}"`,
    `machine = "light-truck"\n[[reading]]\ntest = "${nasty}"\nvalue = "${nasty}"`, `machine = "light-truck"\nskip = ["${nasty}"]`, nasty]) {
    await page.evaluate((t) => localStorage.setItem('oilwheel', JSON.stringify([t])), text);
    await page.goto(base);
    await until(`an answer to ${text}`, async () => await page.locator('#book-text').inputValue() !== '');
    await new Promise((done) => { setTimeout(done, 300); });
    check(`only words: ${text.slice(0, 30)}`, await page.locator('img').count() === 0 && await page.title() !== '1');
    await page.getByRole('button', { name: 'Clear' }).click();
    await until('cleared', async () => await page.locator('#book-text').inputValue() === '' && await kept(page) === '');
  }
  for (const text of ['{', '[]', '[1]', 'null', '{"a":1}']) {
    await page.evaluate((t) => localStorage.setItem('oilwheel', t), text);
    await page.goto(base);
    check(`a store of another’s: ${text}`, (await said(page)).length > 20);
  }
  await page.finish();
});

// What to do next: done, or not to be done.
await part(async () => {
  const page = await open('what next', '/suspects', { bypass: true });
  check('no finding without a reading', /Nothing is measured/.test(await said(page)));
  const first = await page.locator('input[name="next.test"]').inputValue();
  check('what can hurt stands there', await page.locator('.next .mind li').count() > 0);
  await page.getByRole('button', { name: 'I cannot do this' }).click();
  await until('another test', async () => await page.locator('input[name="next.test"]').inputValue() !== first);
  check('it is noted that it cannot be done', (await kept(page)).includes(first));
  const test = await page.locator('input[name="next.test"]').inputValue();
  const name = (await page.locator(`#note-test option[value="${test}"]`).textContent()).trim();
  check(`the card names the test: ${name}`, (await page.locator('.next').textContent()).includes(name));
  const before = await said(page);
  await page.getByLabel('You read').fill(/pressure/.test(test) ? '60' : '640');
  await page.getByRole('button', { name: 'Done: write it down' }).click();
  await settled(page, 1);
  check('it is written', (await notes(page))[0].startsWith(name));
  check(`the verdict changes: ${await said(page)}`, await said(page) !== before);
  const next = page.locator('input[name="next.test"]');
  check('another test is next', await next.count() === 0 || ![first, test].includes(await next.inputValue()));
  await sound(page, 'a test done');
  await page.getByLabel('You read').fill('9 furlongs');
  await page.keyboard.press('Enter');
  await until('what is wrong', async () => /furlongs/.test(await page.locator('.wrong', { hasText: 'furlongs' }).first().textContent()));
  check('nothing is lost', (await notes(page)).length === 1 && await page.getByLabel('You read').inputValue() === '9 furlongs');
  check('what is wrong stands in the card', await page.locator('.next .wrong', { hasText: 'furlongs' }).count() === 1);
  await page.finish();
});

// How many keys from the first screen to a verdict on a reading; and on a phone, how many taps.
await part(async () => {
  const page = await open('keys', '/');
  const was = await said(page);
  let keys = 0;
  const press = async (key) => { keys += 1; await page.keyboard.press(key); };
  const at = () => page.evaluate(() => document.activeElement.id);
  while (!['next-value', 'note-value'].includes(await at()) && keys < 60) await press('Tab');
  for (const key of ['6', '4', '0', 'Enter']) await press(key);
  await until('a verdict', async () => await said(page) !== was && /640/.test(await said(page)));
  console.log(`${keys} keys to a verdict on a reading`);
  check(`no more than 20 keys: ${keys}`, keys <= 20);
  await page.finish();
});
await part(async () => {
  const page = await open('taps', '/', { width: 360, height: 740 });
  const was = await said(page);
  // Two taps beside the figures: into the box, and on the button.
  await page.locator('#note-value').click();
  await page.keyboard.type('640');
  await page.getByRole('button', { name: 'Write it down', exact: true }).click();
  await until('a verdict', async () => await said(page) !== was && /640/.test(await said(page)));
  await page.evaluate(() => window.scrollTo(0, 0));
  const box = await page.locator('#answer .headline').boundingBox();
  check('the verdict is on the first screen', box.y + box.height < 600);
  await page.finish();
});

// Electric fans: what they gain beside what mending gains, a set of one's own, and a table of one's own.
await part(async () => {
  const page = await open('electric fans', '/auxfan');
  check('a sound truck needs none', await number(page) === 'No fan needed');
  await page.locator('#fan-speed').fill('33 %');
  await changed(page, 'No fan needed');
  const smallest = await number(page);
  check(`what fans gain: ${smallest}`, /^\+[\d.]+ K/.test(smallest));
  check('what mending gains stands beside it', /mending \+/.test(await page.locator('.figure').textContent()));
  await page.getByText('Where electric fans may sit, and which').click();
  await page.locator('#try-front-1').selectOption('class-250*1');
  await changed(page, smallest);
  check('a set of one’s own is looked at', /1 × class-250/.test(await page.locator('#answer .headline').textContent()));
  const one = await number(page);
  await page.locator('#at-front-1').selectOption('puller+shroud');
  await changed(page, one);
  await page.locator('#wire').evaluate((box) => { box.closest('details').open = true; });
  await page.locator('#wire').fill('9 km');
  await until('what is wrong', async () => /9000 m/.test(await page.locator('#wire-wrong').textContent()));
  await page.locator('#wire').fill('');
  await until('mended', async () => await page.locator('#wire-wrong').textContent() === '');
  await page.locator('#fans-text').evaluate((box) => { box.closest('details').open = true; });
  const rows = 'fan,flow (m3/h),pressure (Pa),current (A),diameter (mm),mass (kg),mount\nmine,0,150,7.6,250,1.5,puller\nmine,1200,0,6.6,,,\n';
  await page.locator('#try-front-1').selectOption('');
  await page.locator('#fans-text-file').setInputFiles({ name: 'fans.csv', mimeType: 'text/csv', buffer: Buffer.from(rows) });
  await until('the own fans', async () => await page.locator('#try-front-1 option[value="mine*1"]').count() === 1);
  check('they are used', /× mine/.test(await page.locator('#answer').textContent()));
  await page.finish();
});

// A trip of one's own is taken from a file.
await part(async () => {
  const page = await open('own trip', '/trip');
  const was = await number(page);
  await page.getByText('A trip of your own').click();
  const rows = 'time_min,road_speed_km_h,ambient_c\n0,0,30\n10,0,30\n';
  await page.locator('#trip-text-file').setInputFiles({ name: 'trip.csv', mimeType: 'text/csv', buffer: Buffer.from(rows) });
  await changed(page, was);
  check('the trip is the own one', /your trip/.test(await page.locator('.assumed').textContent()));
  const box = page.locator('#trip-text');
  await box.fill(rows.replace('10,0', '10,fast'));
  await until('what is wrong', async () => /Line 3/.test(await page.locator('#trip-text-wrong').textContent()));
  await page.finish();
});

// On a phone the first screen answers, names stand whole, and what is wide scrolls by itself.
for (const path of ['/speed', '/why', '/suspects', '/heat', '/auxfan', '/trip', '/sweep', '/flush']) {
  const page = await open(`first screen of ${path}`, path, { width: 360, height: 740 });
  const bottom = async (what) => {
    const box = await page.locator(what).first().boundingBox();
    return box.y + box.height;
  };
  check(`${path}: the sentence on the first screen`, await bottom('#answer .headline') < 600);
  const picture = await page.locator('#answer .card svg').boundingBox();
  // Why stands between them; of the picture there is enough to see what it is.
  check(`${path}: the picture too (from ${Math.round(picture.y)} px)`, picture.y + Math.min(picture.height, 120) < 740);
  const cut = await page.evaluate(() => [...document.querySelectorAll('.ask select')].filter((s) => {
    const style = getComputedStyle(s);
    const pen = document.createElement('canvas').getContext('2d');
    pen.font = style.font;
    const longest = Math.max(...[...s.options].map((o) => pen.measureText(o.textContent).width));
    // Some room is taken by the arrow.
    // The names of tests are sentences; the one chosen stands whole.
    return s.offsetParent && s.id !== 'note-test' && longest > s.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight) - 18;
  }).map((s) => s.id));
  check(`${path}: no choice is cut: ${cut}`, cut.length === 0);
  await page.finish();
}
await part(async () => {
  const page = await open('wide table', '/auxfan?fan_speed=33+%25', { width: 360, height: 740 });
  const box = page.locator('#more .sideways').first();
  await box.scrollIntoViewIfNeeded();
  check('it scrolls', await box.evaluate((b) => b.scrollWidth > b.clientWidth));
  const name = box.locator('td').first();
  const before = (await name.boundingBox()).x;
  await box.evaluate((b) => { b.scrollLeft = 200; });
  check('what the row is stays in sight', Math.abs((await name.boundingBox()).x - before) < 1);
  await page.finish();
});

// A log is chosen, read, and its report kept; another is dropped.
await part(async () => {
  const page = await open('log', '/log');
  check('no log is no mistake', await page.locator('.troubles').count() === 0);
  await page.locator('#log-file').setInputFiles({ name: 'road.csv', mimeType: 'text/csv', buffer: Buffer.from(rows(108)) });
  await until('the log', async () => await page.locator('[data-now]').count() === 1);
  check('the peak is read', await number(page) === '108 °C');
  const [file] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: 'Report' }).click()]);
  check('its report can be kept', readFileSync(await file.path(), 'utf8').includes('peaked at 108'));
  await page.locator('#drop').evaluate((drop, text) => {
    const carried = new DataTransfer();
    carried.items.add(new File([text], 'other.csv', { type: 'text/csv' }));
    drop.dispatchEvent(new DragEvent('drop', { dataTransfer: carried, bubbles: true, cancelable: true }));
  }, rows(97));
  await changed(page, '108 °C');
  check('a log that is dropped is read', await number(page) === '97 °C');
  await page.locator('#cap').fill('hot');
  await until('what is wrong', async () => await page.locator('#cap-wrong').textContent() !== '');
  await page.finish();
});

// Words move the slides; long work has a sign, and is given up for a newer question.
await part(async () => {
  const page = await open('words', '/speed');
  await page.locator('#engine-speed').fill('raised');
  await until('the slide', async () => await page.getByLabel('Engine speed, slide').inputValue() === '2000');
  await page.locator('#oil-temp').fill('14 F');
  await until('the slide', async () => await page.getByLabel('Oil temperature, slide').inputValue() === '-10');
  await page.finish();
});
await part(async () => {
  const page = await open('long', '/heat?ambient=38+C');
  const was = await number(page);
  // As if the map took long, however fast it is.
  await page.route('**/part/heat', async (route) => {
    if (/map=on/.test(route.request().postData())) await new Promise((done) => { setTimeout(done, 2000); });
    await route.continue().catch(() => {});
  });
  await page.locator('#map').check();
  await until('the sign', async () => await page.locator('#answer').getAttribute('aria-busy') === 'true');
  await page.locator('#map').uncheck();
  await page.locator('#ambient').fill('10 C');
  await changed(page, was);
  check('the sign goes', await page.locator('#answer').getAttribute('aria-busy') === 'false');
  await page.finish();
});

// Without a script the form is sent by its button, and by the enter key.
await part(async () => {
  const page = await open('no script', '/why', { script: false });
  check('slides do not show', await page.locator('.slide').first().isHidden());
  await page.locator('#oil-temp').fill('-5 C');
  await page.keyboard.press('Enter');
  await page.waitForURL(/oil_temp=-5/);
  check('the same question is asked', page.url().includes('/why?'));
  check('an answer stands there', (await page.locator('#answer .headline').textContent()).length > 10);
  await page.finish();
});

// Sizes and schemes: no sideways scrolling, and nothing that axe-core finds.
for (const [size, width, height] of [['desktop', 1280, 900], ['phone', 360, 740]]) {
  for (const scheme of ['light', 'dark']) {
    const paths = ['/speed?measured=640+rpm+%C2%B1+10+rpm', '/why', '/speed?oil_temp=hot'];
    // The others in two of the four.
    if ((size === 'phone') === (scheme === 'dark')) paths.push('/suspects', '/heat', '/auxfan?fan_speed=33+%25', '/trip', '/log', '/sweep', '/flush');
    for (const path of paths) {
      const name = `${path.slice(0, 12)} on a ${scheme} ${size}`;
      const page = await open(name, path, { width, height, scheme, bypass: true });
      page.errors = page.errors.filter((e) => !/422/.test(e));
      const wide = await sideways(page);
      check(`${name}: no sideways scrolling (${wide} px)`, wide <= 0);
      await page.evaluate(() => { for (const d of document.querySelectorAll('details')) d.open = true; });
      const open_wide = await sideways(page);
      check(`${name}: nor with everything open (${open_wide} px)`, open_wide <= 0);
      await sound(page, name);
      await page.finish();
    }
  }
}
await end();
