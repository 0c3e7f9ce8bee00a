// The same requests to the program's server and to the one file in a browser: the same text but for last digits of numbers.
// Usage: node equal.mjs FILE.html http://127.0.0.1:PORT [HOW MANY]
//
// What is held: a number in full (JSON, CSV) agrees to 1e-9, and to 1e-6 where a question iterates or integrates; a number that was
// rounded for a text or a picture agrees to one unit of its last place; every word and mark between numbers is the same. The
// 1e-9 and 1e-6 were set before the first run; one unit of the last place came after 42 requests, when roundings showed.
import { readFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { browser, check, end, rows, watched } from './common.mjs';

const [file, server, most = '300'] = process.argv.slice(2);
const base = server.replace(/\/$/, '');
const FINE = /speed|why|sweep|machine|sheet/;
// A residual is what is left where powers of up to 100 kW cancel: it is rounding, and is held to 1e-9 of these powers, in W.
// Where a place contributes nothing, what is left of the solves' rounding is no figure either: 1e-12 of a fan's speed.
// Where two machines are the same, their difference in temperature is rounding.
const FLOOR = {
  residuals_w: 1e-9 * 1e5, shares_low_rpm: 1e-9, shares_high_rpm: 1e-9, limiting_ambient_difference_low_k: 1e-9, limiting_ambient_difference_high_k: 1e-9,
};

const machines = ['light-truck', 'car', 'bus'];
const story = (name) => readFileSync(new URL(`../../models/notebooks/${name}.toml`, import.meta.url), 'utf8');
const reading = (i) => `machine = "${machines[i % 3]}"\n[[reading]]\ntest = "fan-speed-idle-hot"\nvalue = "${500 + 37 * (i % 20)} rpm ± 10 rpm"\n`;
const trip = (i) => `time_min,road_speed_km_h,ambient_c\n0,${i % 60},${20 + i % 20}\n10,${(7 * i) % 60},${20 + i % 20}\n`;
const csv = (i) => rows(90 + i % 20, 300 + 10 * i);
const warm = (i) => `${-20 + (i * 7) % 120} C`;
const here = (i, more = {}) => ({ machine: machines[i % 3], oil_temp: warm(i), ...more });
// Each kind: how many of every 60 requests, its path, and what is asked. Where a kind takes long, it comes seldom.
const KINDS = [
  [5, (i) => ['/part/speed', here(i, { engine_speed: `${700 + 50 * i} rpm` })]],
  [5, (i) => ['/download/speed.json', here(i, { command: `${30 + i % 70} %`, units: i % 2 ? 'us' : 'si' })]],
  [2, (i) => ['/speed', here(i, { with: 'worn-pump', with_severity: String(0.1 + (i % 9) / 10) })]],
  [2, (i) => ['/download/speed.csv', here(i)]],
  [2, (i) => ['/part/speed', { book_text: reading(i), machine: machines[i % 3] }]],
  [2, (i) => ['/part/speed', { machine: machines[i % 3], 'note.test': 'fan-speed-idle-hot', 'note.value': String(600 + i), write: 'on' }]],
  [3, (i) => ['/part/why', here(i, { against_oil: i % 2 ? 'iso-vg-46' : 'engine-10w-30' })]],
  [3, (i) => ['/download/why.json', here(i, { measured: `${600 + i} rpm ± 10 rpm` })]],
  [3, (i) => ['/download/sweep.csv', { machine: machines[i % 3], over: i % 2 ? 'oil-temp' : 'engine-speed', command: `${40 + i % 60} %` }]],
  [2, (i) => ['/part/sweep', { machine: machines[i % 3], over: i % 2 ? 'oil-temp' : 'engine-speed', air_temp: `${i % 40} C` }]],
  [2, (i) => ['/part/flush', here(i)]],
  [2, (i) => ['/download/flush.json', here(i)]],
  [1, (i) => ['/download/sheet.html', here(i)]],
  [1, (i) => ['/download/machine.toml', here(i)]],
  [3, (i) => ['/part/heat', { machine: machines[i % 3], ambient: `${i % 45} C` }]],
  [3, (i) => ['/download/heat.json', { machine: machines[i % 3], ambient: `${i % 45} C`, road_speed: `${(3 * i) % 90} km/h` }]],
  [2, (i) => ['/part/auxfan', { machine: 'light-truck', fan_speed: `${20 + i % 70} %` }]],
  [1, (i) => ['/download/auxfan.json', { machine: 'light-truck', fan_speed: `${20 + i % 70} %` }]],
  [1, (i) => ['/part/trip', { machine: machines[i % 3], trip_text: trip(i) }]],
  [1, (i) => ['/download/trip.json', { machine: machines[i % 3], trip_text: trip(i) }]],
  [1, (i) => ['/part/suspects', { book_text: i % 2 ? story('unknown-truck') : story('other-pump') }]],
  [1, (i) => ['/download/suspects.json', { book_text: i % 2 ? story('hot-but-healthy') : reading(i) }]],
  [2, (i) => ['/part/log', {}, [csv(i)]]],
  [2, (i) => ['/part/log', {}, [csv(i), csv(i + 7)]]],
  [1, (i) => ['/download/log.json', { log_text: csv(i) }]],
  // Refused: a bad number, a bad notebook, what contradicts itself, no such address.
  [2, (i) => ['/part/speed', here(i, { oil_temp: '90 furlongs', 'set.pump.ratio': '99' })]],
  [1, (i) => ['/speed', here(i, { oil_line: `${i}C` })]],
  [2, (i) => ['/part/suspects', { book_text: i % 2 ? story('oil-changed') : 'machine = "bus"\nreadings = "butter' }]],
  [1, (i) => ['/download/log.csv', here(i, { log_text: 'no log at all' })]],
  [1, () => ['/part/nothing', {}]],
];
const wheel = KINDS.flatMap(([count, ask]) => Array(count).fill(ask));

// How far two numbers are apart; what is wrong with two sides, part by part, or nothing.
const worst = new Map();
function apart(a, b, path) {
  const off = Math.abs(a - b) / Math.max(Math.abs(a), Math.abs(b), 1e-12);
  worst.set(path, Math.max(worst.get(path) ?? 0, off));
  return off > (FINE.test(path) ? 1e-9 : 1e-6);
}
function near(a, b, path, key = '', floor = 0) {
  if (typeof a === 'number' && typeof b === 'number') return Math.abs(a - b) > floor && apart(a, b, path) ? `${key}: ${a} and ${b}` : '';
  if (a === b) return '';
  if (!a || !b || typeof a !== 'object' || typeof b !== 'object') return `${key}: ${a} and ${b}`;
  if (String(Object.keys(a)) !== String(Object.keys(b))) return `${key}: other members`;
  for (const [k, value] of Object.entries(a)) {
    const wrong = near(value, b[k], path, k, FLOOR[k] ?? floor);
    if (wrong) return wrong;
  }
  return '';
}
const NUMBER = /\d+(?:\.\d+)?(?:e-?\d+)?/g;
let rounded = 0;
function alike(a, b, path) {
  if (a.replace(NUMBER, '#') !== b.replace(NUMBER, '#')) {
    let at = 0;
    while (a[at] === b[at]) at += 1;
    return `other words: ${a.slice(at - 60, at + 60)} | ${b.slice(at - 60, at + 60)}`;
  }
  const [left, right] = [a, b].map((text) => text.match(NUMBER) ?? []);
  for (let i = 0; i < left.length; i += 1) {
    if (left[i] === right[i]) continue;
    if (path.endsWith('.csv') && left[i].length > 12) {
      if (apart(left[i], right[i], path)) return `${left[i]} and ${right[i]}`;
      continue;
    }
    rounded += 1;
    const places = Math.min(...[left[i], right[i]].map((n) => (n.split('.')[1] ?? '').length));
    if (Math.abs(left[i] - right[i]) > 1.001 * 10 ** -places) return `${left[i]} and ${right[i]}`;
  }
  return '';
}

const page = await watched({ offline: true }, (url) => /^(file|blob|data):/.test(url));
await page.goto(pathToFileURL(file).href);
await page.locator('#ask').waitFor({ timeout: 60000 });
const inside = (path, form, logs) => page.evaluate(async ([way, typed, texts]) => {
  const { status, kind, file: name, text } = await globalThis.pocket.whole(way, typed, undefined, texts.map((t) => new File([t], 'log.csv')));
  return { status, kind, name, text };
}, [path, form, logs]);
async function outside(path, form, logs) {
  const send = logs.length ? [`${path}?${form}`, logs.join(''), 'text/csv'] : [path, form, 'application/x-www-form-urlencoded'];
  const back = await fetch(base + send[0], { method: 'POST', body: send[1], headers: { 'Content-Type': send[2] } });
  return { status: back.status, kind: back.headers.get('content-type'), name: /filename="(.*)"/.exec(back.headers.get('content-disposition') ?? '')?.[1] ?? '', text: await back.text() };
}
const asked = new Map();
let same = 0;
let refused = 0;
for (let i = 0; i < Number(most); i += 1) {
  const [path, fields, logs = []] = wheel[i % wheel.length](i);
  const form = new URLSearchParams(fields);
  if (logs.length) form.set('first', Buffer.byteLength(logs[0]));
  const [a, b] = [await inside(path, String(form), logs), await outside(path, String(form), logs)];
  asked.set(path, (asked.get(path) ?? 0) + 1);
  if (/class="(troubles|sorry)"/.test(a.text)) refused += 1;
  for (const what of ['status', 'kind', 'name']) check(`${path}?${form}: ${what}: ${a[what]} and ${b[what]}`, a[what] === b[what]);
  if (a.text === b.text) { same += 1; check(path, a.text.length > 0); continue; }
  const json = path.endsWith('.json') && a.status === 200;
  const wrong = json ? near(JSON.parse(a.text), JSON.parse(b.text), path) : alike(a.text, b.text, path);
  check(`${path}?${form}: ${wrong}`, wrong === '');
}
console.log(`${most} requests of ${asked.size} kinds, ${refused} refused: ${same} answers the same to the byte, in the others ${rounded} rounded numbers differ`);
console.log(`worst in full numbers: ${[...worst].map(([path, off]) => `${path} ${off.toExponential(1)}`).join(', ') || 'none differ'}`);
check('of all kinds some were refused, not most', refused > 0 && refused < Number(most) / 4);
check(`no errors ${page.errors}`, page.errors.length === 0);
await end();
