// What the one file has instead of a server: a worker that answers, and addresses behind a # sign.
'use strict';
globalThis.pocket = (() => {
  // The server's limits on sizes and times.
  const LARGEST = { form: 256 << 10, logs: 64 << 20 };
  const TO_ANSWER = 30000;
  const sorry = (words) => ({ kind: 'text/html', file: '', text: `<main class="sorry"><h1>That did not work</h1><p>${words}</p></main>` });
  const piece = (id) => document.getElementById(id).textContent;
  const source = URL.createObjectURL(new Blob([piece('worker')], { type: 'text/javascript' }));

  // The model, compiled once: the first worker unpacks it, and gives it back for those that come after.
  let compiled = null;

  // One worker: it answers one after the other. Where it is ended, what waits there is refused, and another takes its place.
  const hand = () => {
    let worker = null;
    let id = 0;
    const waiting = new Map();
    const end = (error) => {
      worker?.terminate();
      worker = null;
      for (const { refuse } of waiting.values()) refuse(error);
      waiting.clear();
    };
    const failed = (words) => end(Object.assign(new Error(words), { says: `something went wrong in the computation; what was typed is still here (${words})` }));
    const start = () => {
      if (worker) return;
      worker = new Worker(source);
      worker.onmessage = ({ data }) => {
        if (data.panic !== undefined) failed(data.panic);
        else if (data.model) compiled = data.model;
        else {
          waiting.get(data.id)?.take(data);
          waiting.delete(data.id);
        }
      };
      worker.onerror = (event) => { event.preventDefault(); failed(event.message); };
      if (compiled) worker.postMessage({ model: compiled });
    };
    // What the file holds of the model stands behind this script, and is there once all is read.
    const first = () => { start(); worker.postMessage({ packed: piece('model') }); document.getElementById('model').remove(); };
    const ask = (path, form, signal, logs) => new Promise((take, refuse) => {
      signal?.throwIfAborted();
      start();
      const own = id += 1;
      const late = setTimeout(() => { waiting.delete(own); end(new DOMException('ended', 'AbortError')); take(sorry('The computation took too long. Try again, or ask for less at once.')); }, TO_ANSWER);
      const over = (then) => (value) => { clearTimeout(late); then(value); };
      waiting.set(own, { take: over(take), refuse: over(refuse) });
      signal?.addEventListener('abort', () => { if (waiting.has(own)) end(signal.reason); }, { once: true });
      worker.postMessage({ id: own, path, form, logs });
    });
    return { ask, start, first };
  };
  const [main, beside] = [hand(), hand()];
  main.start();

  const reply = async (one, path, form, signal, logs = []) => {
    const text = String(form);
    if (text.length > LARGEST.form) return sorry('That is too large: what is typed may have up to 250 kB.');
    if (logs.reduce((sum, log) => sum + log.size, 0) > LARGEST.logs) return sorry('That is too large: logs of up to 64 MB in all are read.');
    return one.ask(path, text, signal, logs);
  };

  // A whole page in place of the one that stands there.
  let shown = '';
  const go = async (path, form, kept = true) => {
    const back = await reply(main, path, form);
    const fresh = new DOMParser().parseFromString(back.text, 'text/html');
    document.title = fresh.title || 'oilwheel';
    document.body.replaceChildren(...fresh.body.childNodes);
    if (kept) place(path, form);
    window.scrollTo(0, 0);
    init();
  };
  const trouble = (error) => {
    const now = document.getElementById('now');
    document.body.classList.remove('busy');
    (now ?? document.querySelector('main')).textContent = error.says ?? 'The program could not be started: it needs a newer browser.';
  };
  // Texts of many lines stay out of the address.
  const place = (path, form) => {
    const all = new URLSearchParams(String(form));
    for (const name of [...all.keys()]) if (name.endsWith('_text')) all.delete(name);
    shown = `#${path}?${all}`;
    if (location.hash !== shown) history.pushState(null, '', shown);
  };
  const asked = () => {
    const [path, form = ''] = location.hash.slice(1).split(/\?(.*)/s);
    return path.startsWith('/') ? [path, form] : ['/speed', ''];
  };

  document.addEventListener('submit', (event) => {
    if (event.defaultPrevented) return;
    event.preventDefault();
    const path = event.submitter?.getAttribute('formaction') ?? event.target.getAttribute('action');
    const form = new URLSearchParams([...new FormData(event.target, event.submitter)].filter(([, value]) => typeof value === 'string' && value !== ''));
    if (!path.startsWith('/download/')) { go(path, form).catch(trouble); return; }
    reply(beside, path, form).then((back) => {
      document.body.classList.remove('busy');
      if (back.file) { save(back.file, back.text); return; }
      document.getElementById('now').textContent = new DOMParser().parseFromString(back.text, 'text/html').querySelector('.sorry p, .troubles li')?.textContent ?? 'no answer';
    }).catch(trouble);
  });
  document.addEventListener('click', (event) => {
    const link = event.target.closest?.('a[href^="/"]');
    if (!link) return;
    event.preventDefault();
    go(link.getAttribute('href'), '').catch(trouble);
  });
  // Back and forward; other marks behind # are places on the page.
  window.addEventListener('popstate', () => {
    if (location.hash.startsWith('#/') && location.hash !== shown) go(...asked(), false).then(() => { shown = location.hash; }).catch(trouble);
  });
  // From a web server the browser may keep the file, and put it among its apps: what that needs stands beside it there.
  const stay = async () => {
    if (!location.protocol.startsWith('http')) return;
    const app = document.head.appendChild(document.createElement('link'));
    Object.assign(app, { rel: 'manifest', href: 'oilwheel.webmanifest' });
    const { active } = await navigator.serviceWorker.register('oilwheel-offline.js').then(() => navigator.serviceWorker.ready);
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = ({ data }) => { document.documentElement.dataset.offline = data; };
    active.postMessage([location.pathname, app.href], [port2]);
  };
  return {
    // As the page asks: also what can run beside, and what is only put into the address.
    ask: async (path, form, signal, logs) => (await reply(signal || path.startsWith('/part') ? main : beside, path, form, signal, logs)).text,
    place: (path, form) => { shown = `#${path}?${form}`; history.replaceState(null, '', shown); },
    whole: (path, form, signal, logs) => reply(main, path, form, signal, logs),
    begin: () => { main.first(); stay().catch(() => {}); return go(...asked(), false).catch(trouble); },
  };
})();
