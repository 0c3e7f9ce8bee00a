// The model in a worker: messages {id, path, form, logs} in, {id, status, kind, file, text} out.
'use strict';
// How much of a log is read at a time, bytes.
const PIECE = 4 << 20;
let model = null;
let queue = Promise.resolve();
const spelled = (at, length) => new TextDecoder().decode(new Uint8Array(model.memory.buffer, at, length));

const begun = async (compiled) => {
  const imports = {};
  // What other crates would ask of a browser; none of it is called.
  for (const { module, name } of WebAssembly.Module.imports(compiled)) {
    (imports[module] ??= {})[name] = () => { throw new Error(`${name} is not here`); };
  }
  imports.page.panicked = (at, length) => postMessage({ panic: spelled(at, length) });
  model = (await WebAssembly.instantiate(compiled, imports)).exports;
  model.begin();
};

const answered = async ({ id, path, form, logs }) => {
  const pen = new TextEncoder();
  const [way, typed] = [pen.encode(path), pen.encode(form)];
  const size = logs.reduce((sum, log) => sum + log.size, 0);
  const at = model.room(way.length + typed.length + size);
  const write = (bytes, place) => new Uint8Array(model.memory.buffer).set(bytes, at + place);
  write(way, 0);
  write(typed, way.length);
  let place = way.length + typed.length;
  for (const log of logs) {
    for (let from = 0; from < log.size; from += PIECE) {
      const bytes = new Uint8Array(await log.slice(from, from + PIECE).arrayBuffer());
      write(bytes, place);
      place += bytes.length;
    }
  }
  const back = model.ask(at, way.length, typed.length, size);
  const head = new DataView(model.memory.buffer, back, 16);
  const [status, kind, file, text] = [0, 4, 8, 12].map((i) => head.getUint32(i, true));
  postMessage({
    id, status, kind: spelled(back + 16, kind), file: spelled(back + 16 + kind, file), text: spelled(back + 16 + kind + file, text),
    memory: model.memory.buffer.byteLength,
  });
  model.done(back, 16 + kind + file + text);
};

// Seven bits a letter; letters that a page may not hold stand 384 places higher, where the lowest seven bits are the same.
const unpacked = (letters) => {
  const bytes = new Uint8Array(Math.floor(letters.length * 7 / 8));
  for (let i = 0, at = 0, rest = 0, many = 0; at < bytes.length; i += 1) {
    rest = (rest << 7 | letters.charCodeAt(i) & 127) & 0x7fff;
    many += 7;
    if (many >= 8) {
      many -= 8;
      bytes[at] = rest >> many;
      at += 1;
    }
  }
  const [stream, headers] = [new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip')), { 'Content-Type': 'application/wasm' }];
  return WebAssembly.compileStreaming(new Response(stream, { headers }));
};
const first = async (letters) => {
  const model = await unpacked(letters);
  postMessage({ model });
  return begun(model);
};

onmessage = ({ data }) => {
  queue = queue.then(() => (data.packed ? first(data.packed) : data.model ? begun(data.model) : answered(data)));
  queue.catch((error) => postMessage({ panic: error.message }));
};
