// The same requests to the server and to the model as WebAssembly: the same text but for last digits of numbers.
// Usage: node equal.mjs MODEL.wasm http://127.0.0.1:PORT [HOW MANY]
import { readFileSync } from 'node:fs';

const [file, base, most = '300'] = process.argv.slice(2);
const compiled = await WebAssembly.compile(readFileSync(file));
const imports = {};
let model = null;
for (const { module, name } of WebAssembly.Module.imports(compiled)) (imports[module] ??= {})[name] = () => { throw new Error(`${name} is called`); };
imports.page.panicked = (at, n) => console.log('panic', new TextDecoder().decode(new Uint8Array(model.memory.buffer, at, n)));
model = (await WebAssembly.instantiate(compiled, imports)).exports;
model.begin();
function ask(path, form) {
  const [way, typed] = [path, form].map((text) => new TextEncoder().encode(text));
  const at = model.room(way.length + typed.length);
  new Uint8Array(model.memory.buffer).set([...way, ...typed], at);
  const back = model.ask(at, way.length, typed.length, 0);
  const [, kind, name, text] = [0, 4, 8, 12].map((i) => new DataView(model.memory.buffer, back).getUint32(i, true));
  const said = new TextDecoder().decode(new Uint8Array(model.memory.buffer, back + 16 + kind + name, text));
  model.done(back, 16 + kind + name + text);
  return said;
}
const paths = ['/part/speed', '/download/speed.json', '/part/why', '/download/why.json', '/part/heat', '/download/heat.json', '/part/auxfan',
  '/download/sweep.csv', '/part/sweep', '/part/flush', '/download/flush.json', '/download/sheet.html', '/download/machine.toml', '/download/auxfan.json',
  '/part/trip', '/part/suspects'];
const machines = ['light-truck', 'car', 'bus'];
const [same, worst] = [{ yes: 0, no: 0 }, {}];
const number = /-?\d+\.?\d*(?:e-?\d+)?/gi;
let failed = 0;
for (let i = 0; i < Number(most); i += 1) {
  const path = paths[i % paths.length];
  const form = `machine=${machines[i % 3]}&oil_temp=${-20 + (i * 7) % 120}+C&read.fan-speed-idle-hot=${600 + i}+rpm+%C2%B1+10+rpm`;
  const here = ask(path, form);
  const there = await (await fetch(base.replace(/\/$/, '') + path, { method: 'POST', body: form, headers: { 'Content-Type': 'application/x-www-form-urlencoded' } })).text();
  if (here === there) { same.yes += 1; continue; }
  same.no += 1;
  const off = here.replace(number, '#') !== there.replace(number, '#');
  const [a, b] = [here, there].map((t) => (t.match(number) ?? []).map(Number));
  const gap = off ? Infinity : Math.max(...a.map((x, k) => Math.abs(x - b[k]) / Math.max(Math.abs(x), Math.abs(b[k]), 1e-12)));
  worst[path] = Math.max(worst[path] ?? 0, gap);
  if (gap > 1e-6) { failed += 1; if (failed < 6) console.log(`${path}?${form}: differs by ${gap}`); }
}
console.log(`${same.yes} the same to the byte, ${same.no} not; ${failed} by more than 1e-6; worst where not the same: ${JSON.stringify(worst)}`);
process.exit(failed === 0 ? 0 : 1);
