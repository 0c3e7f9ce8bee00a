// The page works without this script, which updates the answer while typing and shows sliders.
'use strict';

// The only transport to the program: sends the form and any logs; returns the text of the reply.
const ask = async (path, form, signal, logs = []) => {
  if (globalThis.pocket) return pocket.ask(path, form, signal, logs);
  if (!logs.length) return (await fetch(path, { method: 'POST', body: form, signal })).text();
  const body = new Blob(logs, { type: 'text/csv' });
  return (await fetch(`${path}?${form}`, { method: 'POST', body, headers: { 'Content-Type': 'text/csv' }, signal })).text();
};

// Charts that show their values at the pointer, or with the arrow keys. The values are in the data table of each chart.
const SVG = 'http://www.w3.org/2000/svg';
const revive = (svg) => {
  const figure = svg.closest('figure');
  const tables = [...figure.querySelectorAll('table.values')];
  const said = document.createElement('output');
  said.className = 'read';
  figure.insertBefore(said, svg.parentElement.nextSibling);
  const marks = svg.appendChild(document.createElementNS(SVG, 'g'));
  const draw = (tag, attributes) => {
    const one = marks.appendChild(document.createElementNS(SVG, tag));
    for (const [name, value] of Object.entries(attributes)) one.setAttribute(name, value);
  };
  const plots = svg.dataset.plots.split(';').map((area, i) => {
    const heads = [...tables[i].querySelectorAll('thead th')];
    const rows = [...tables[i].querySelectorAll('tbody tr')].map((tr) => {
      const cells = [...tr.cells].map((cell, c) => ({ head: heads[c].textContent, unit: heads[c].dataset.unit, words: cell.textContent, at: cell.dataset.at?.split(' ').map(Number) }));
      return { cells, x: cells.find((cell) => cell.at)?.at[0] };
    }).filter((row) => row.x !== undefined);
    return { area: area.split(' ').map(Number), rows };
  });
  let plot = plots.find((p) => p.rows.length);
  if (!plot) return;
  let at = Math.floor(plot.rows.length / 2);
  const tell = () => {
    const { x, cells: [along] } = plot.rows[at];
    marks.replaceChildren();
    // Plots above one another share their axis: each tells its values there.
    const all = [along];
    for (const one of plots.filter((p) => p.rows.length)) {
      const { cells, x: here } = one === plot ? plot.rows[at] : one.rows[nearest(x, one)];
      const [, top, , bottom] = one.area;
      draw('line', { x1: here, x2: here, y1: top, y2: bottom, class: 'at' });
      for (const cell of cells) if (cell.at) draw('circle', { cx: cell.at[0], cy: cell.at[1], r: 5, class: 'at' });
      all.push(...cells.slice(1));
    }
    said.textContent = all.filter((cell) => cell.words).map(({ head, words, unit }) => `${head}: ${words}${unit ? ` ${unit}` : ''}`).join(' · ');
  };
  const nearest = (x, { rows } = plot) => rows.reduce((best, row, i) => (Math.abs(row.x - x) < Math.abs(rows[best].x - x) ? i : best), 0);
  const point = (event) => {
    const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    plot = plots.find((p) => p.rows.length && place.y <= p.area[3] + 12) ?? plot;
    at = nearest(place.x);
    tell();
  };
  svg.addEventListener('pointermove', point);
  svg.addEventListener('pointerdown', point);
  svg.tabIndex = 0;
  svg.addEventListener('focus', () => { if (!said.textContent) tell(); });
  svg.addEventListener('keydown', (event) => {
    const step = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: plot.rows.length - 1 }[event.key];
    const other = plots[plots.indexOf(plot) + ({ ArrowDown: 1, ArrowUp: -1 }[event.key] ?? 0)];
    if (step === undefined && (other === plot || !other?.rows.length)) return;
    event.preventDefault();
    const { x } = plot.rows[at];
    if (step === undefined) { plot = other; at = nearest(x); } else at = Math.max(0, Math.min(plot.rows.length - 1, step));
    tell();
  });
};
const reviveAll = (part) => { for (const svg of part.querySelectorAll('svg[data-plots]')) revive(svg); };

// Saves a text as a file.
const save = (name, text) => {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(new Blob([text]));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
};

// The logs that were chosen in this window of the browser: puts them away, or finds them again.
const shelf = (logs) => new Promise((done, fail) => {
  const own = sessionStorage.getItem('oilwheel-window') ?? String(Math.random());
  sessionStorage.setItem('oilwheel-window', own);
  const opens = indexedDB.open('oilwheel', 1);
  opens.onupgradeneeded = () => opens.result.createObjectStore('logs');
  opens.onerror = () => fail(opens.error);
  opens.onsuccess = () => {
    const deal = opens.result.transaction('logs', 'readwrite');
    const all = deal.objectStore('logs');
    const found = logs ? all.put({ own, logs }, 'logs') : all.get('logs');
    deal.oncomplete = () => { opens.result.close(); done(found.result?.own === own ? found.result.logs : undefined); };
    deal.onabort = () => fail(deal.error);
  };
});

// Attaches the script to the page; called again after its content was replaced.
const init = () => {
  const form = document.getElementById('ask');
  const answer = document.getElementById('answer');
  const more = document.getElementById('more');
  const now = document.getElementById('now');
  if (!form || !answer) return;

  // The boxes of a new entry of the notebook, with what is typed there and not added yet. It stays when the answer or the
  // page is replaced; in the card of the next step, if that asks for the same test.
  const NOTED = /^(note|next)\./;
  const pending = () => [...form.elements].filter((box) => NOTED.test(box.name) && box.tagName !== 'BUTTON').map((box) => [box.name, box.value]);
  const refill = (all) => {
    const same = all.find(([name]) => name === 'next.test')?.[1] === form.elements['next.test']?.value;
    for (const [name, value] of all) {
      const box = form.elements[name];
      if (box && (same || !name.startsWith('next.'))) box.value = value;
    }
  };
  let held = null;
  let reloads = false;
  const reload = () => {
    reloads = true;
    if (pending().some(([name, value]) => name.endsWith('.value') && value)) {
      try { sessionStorage.setItem('oilwheel-pending', JSON.stringify(pending())); } catch { /* no storage */ }
    }
    form.requestSubmit();
  };

  // The typed input without empty fields. A new notebook entry is included only after its button was pressed.
  const typed = (writes) => {
    const all = new URLSearchParams();
    for (const [name, value] of new FormData(form)) {
      if (typeof value === 'string' && value !== '' && (writes || !NOTED.test(name))) all.append(name, value);
    }
    if (writes) {
      all.set('write', 'on');
      // A reading of today; one of a healthy machine is of an earlier day.
      for (const boxes of ['note', 'next']) {
        if (all.has(`${boxes}.value`) && !all.has(`${boxes}.date`) && all.get(`${boxes}.when`) !== 'healthy') {
          const day = new Date();
          all.set(`${boxes}.date`, [day.getFullYear(), day.getMonth() + 1, day.getDate()].map((n) => String(n).padStart(2, '0')).join('-'));
        }
      }
    }
    return all;
  };

  // The notebook is kept in the browser's storage, with its earlier versions.
  // Other pages may write there too, and some browsers store nothing.
  const stored = () => {
    try {
      const all = JSON.parse(localStorage.getItem('oilwheel'));
      if (Array.isArray(all) && all.length && all.every((text) => typeof text === 'string')) return all;
    } catch { /* nothing that can be read */ }
    return [''];
  };
  const set = (all) => {
    try { localStorage.setItem('oilwheel', JSON.stringify(all)); } catch { now.textContent = 'this browser cannot store the notebook: save it as a file'; }
  };
  const store = (text) => {
    const all = stored();
    if (all.at(-1) !== text) set([...all, text].slice(-30));
  };
  const book = () => document.getElementById('book-text');
  // The notebook's machine and oil are used unless the address names others.
  const write = (text, named = new URLSearchParams()) => {
    book().value = text;
    renew({ replaces: true, drop: ['machine', 'oil'].filter((name) => text && !named.has(name)) });
  };
  const address = () => new URLSearchParams((globalThis.pocket ? location.hash : location.search).split('?')[1]);
  // Whether the input fits into an address; the notebook need not, because the browser stores it.
  const addressable = () => form.getAttribute('action') !== '/log' && (!book() || stored().at(-1) === book().value)
    && ![...form.querySelectorAll('textarea')].some((box) => box !== book() && box.value !== '');
  const place = () => {
    const all = typed();
    all.delete('book_text');
    const path = form.getAttribute('action');
    if (globalThis.pocket) pocket.place(path, all);
    else history.replaceState(null, '', `${path}?${all}`);
  };
  // The browser remembers whether the part for the engineer is open.
  const deep = () => {
    const one = more.querySelector('.depth');
    if (!one) return;
    try { one.open ||= localStorage.getItem('oilwheel-depth') === 'open'; } catch { /* no storage */ }
    one.ontoggle = () => {
      try { localStorage.setItem('oilwheel-depth', one.open ? 'open' : ''); } catch { /* no storage */ }
    };
  };
  // The notebook as it was before.
  const back = () => {
    const all = stored();
    // A text that could not be read was never stored.
    if (all.length > 1 && all.at(-1) === book().value) set(all.slice(0, -1));
    write(stored().at(-1));
  };
  // The boxes of an entry show what holds for its test. Whether full fan was commanded is asked for a fan speed at full
  // command only.
  const offers = () => {
    const box = document.getElementById('note-command');
    const by = document.getElementById('note-by');
    const chosen = document.getElementById('note-test')?.selectedOptions[0]?.dataset;
    if (!box || !by || !chosen) return;
    for (const [id, words] of [['note-value', chosen.example], ['note-engine', chosen.engine], ['note-oil', chosen.oil]]) {
      document.getElementById(id).placeholder = words ?? '';
    }
    box.closest('.field').hidden = chosen.full === undefined;
    // The instruments for what the test reads; at first the one that is assumed.
    by.closest('.field').hidden = !chosen.by;
    by.options[0].textContent = chosen.by ?? '';
    for (const group of by.querySelectorAll('optgroup')) group.disabled = group.hidden = group.dataset.kind !== chosen.kind;
    if (by.selectedOptions[0]?.closest('optgroup')?.hidden) by.value = '';
  };
  const alive = () => {
    for (const part of form.querySelectorAll('#book .scripted, #answer .scripted')) part.hidden = false;
    offers();
    for (const button of form.querySelectorAll('[data-book]')) button.onclick = () => {
      if (button.dataset.book === 'clear') write('');
      if (button.dataset.book === 'undo') {
        // What was refused, or not added yet, is undone first.
        const pending = [...form.querySelectorAll('#note-value, #next-value')].filter((box) => box.value);
        if (pending.length) {
          for (const box of pending) { box.value = ''; box.removeAttribute('aria-invalid'); }
          for (const place of form.querySelectorAll('.wrong')) place.textContent = '';
          now.textContent = 'the entry was not added';
          return;
        }
        back();
      }
      if (button.dataset.book === 'back') back();
      if (button.dataset.book === 'keep') save('notebook.toml', book().value);
    };
    const file = document.getElementById('book-file');
    if (file) file.onchange = async () => write(await file.files[0].text());
  };
  form.addEventListener('formdata', (event) => {
    for (const [name, value] of [...event.formData]) if (value === '' || (reloads && NOTED.test(name))) event.formData.delete(name);
  });

  // Shows that a computation is running, also as text.
  const wait = (yes) => {
    answer.setAttribute('aria-busy', String(yes));
    document.body.classList.toggle('busy', yes);
    if (yes) now.textContent = 'computing …';
  };

  // Chosen or dropped logs: sent unchanged, one after the other.
  const logs = () => ['log-file', 'compare-file'].map((id) => document.getElementById(id)?.files[0]).filter(Boolean);
  const send = (path, signal, { writes = false, replaces = false, also, drop = [] } = {}) => {
    const skips = ['next.skip', 'strike'].includes(also?.[0]);
    const all = typed(writes && !skips);
    if (replaces || skips) all.set('write', 'on');
    for (const name of drop) all.delete(name);
    if (also) all.set(...also);
    const files = document.getElementById('log-file')?.files.length ? logs() : [];
    if (files.length) {
      all.delete('log_text');
      all.delete('compare_text');
      all.set('first', files[0].size);
    }
    return ask(path, all, signal, files);
  };

  // Errors are shown beside their fields.
  const mark = (troubles) => {
    for (const place of form.querySelectorAll('.wrong')) place.textContent = '';
    for (const box of form.querySelectorAll('[aria-invalid]')) box.removeAttribute('aria-invalid');
    let placed = 0;
    for (const trouble of troubles) {
      // An error in the next-step card is shown there.
      const card = trouble.dataset.for === 'note-value' && document.getElementById('next-value')?.value && !document.getElementById('note-value').value;
      const id = card ? 'next-value' : trouble.dataset.for;
      const place = document.getElementById(`${id}-wrong`);
      const box = document.getElementById(id);
      if (!place) continue;
      place.textContent = place.textContent ? `${place.textContent}. ${trouble.dataset.said}` : trouble.dataset.said;
      if (box) box.setAttribute('aria-invalid', 'true');
      for (let at = place.closest('details'); at; at = at.parentElement.closest('details')) at.open = true;
      placed += 1;
    }
    return placed;
  };

  const show = (text, writes) => {
    const fresh = new DOMParser().parseFromString(text, 'text/html').body;
    if (fresh.querySelector('.sorry')) {
      const kept = writes ? ' Nothing was added; what you typed is still in its box.' : '';
      now.textContent = fresh.querySelector('.sorry p').textContent + kept;
      return false;
    }
    const ok = !fresh.querySelector('.troubles');
    const troubles = [...fresh.querySelectorAll('.troubles li')];
    const placed = mark(troubles.filter((t) => t.dataset.for));
    for (const part of [answer, more]) part.classList.toggle('stale', !ok && placed === troubles.length);
    if (!ok && placed === troubles.length) {
      now.textContent = 'please correct the marked field';
      form.querySelector('[aria-invalid]')?.scrollIntoView({ block: 'center' });
      return false;
    }
    const was = held ?? pending();
    held = null;
    const open = new Set([...form.querySelectorAll('details[open][data-key]')].map((d) => d.dataset.key));
    for (const one of fresh.querySelectorAll('details[data-key]')) one.open = open.has(one.dataset.key);
    for (const place of fresh.querySelectorAll('[data-slide]')) {
      const slide = form.querySelector(`.slide[data-for="${place.dataset.slide}"]`);
      if (slide && slide !== document.activeElement) slide.value = place.dataset.at;
      const box = document.getElementById(place.dataset.slide);
      if (box && place.dataset.usual) box.placeholder = place.dataset.usual;
      place.remove();
    }
    for (const part of fresh.querySelectorAll('[data-part]')) {
      const place = document.getElementById(part.dataset.part);
      place?.replaceChildren(...part.childNodes);
      if (place) reviveAll(place);
    }
    if (!ok || !writes || writes === 'other') refill(was);
    deep();
    // Before the notebook is stored, which may report an error itself.
    now.textContent = ok ? fresh.querySelector('[data-head]').dataset.head : 'no answer';
    if (book() && ok) {
      alive();
      store(book().value);
      // The notebook names another machine: the whole form is reloaded.
      const { machine, oil } = fresh.querySelector('[data-head]').dataset;
      if (oil !== undefined && form.elements.oil) form.elements.oil.value = oil;
      if (machine && form.elements.machine.value !== machine) {
        form.elements.machine.value = machine;
        setTimeout(reload);
      }
    }
    // The new entry has changed the verdict: scroll to it.
    if (ok && writes && answer.getBoundingClientRect().top < 0) answer.scrollIntoView();
    return ok;
  };

  // One request at a time; changes in the meantime are sent afterwards. A long request is cancelled for them: the
  // server then stops its work.
  const PATIENCE = 300;
  let running = null;
  let again = null;
  const renew = async (how = {}) => {
    if (running) {
      // Adding an entry is not cancelled.
      if (!again?.writes && !again?.replaces) again = how;
      if (!running.how.writes && !running.how.replaces && performance.now() - running.began > PATIENCE) running.abort.abort();
      return;
    }
    running = { began: performance.now(), abort: new AbortController(), how };
    const sign = setTimeout(wait, PATIENCE, true);
    const path = form.getAttribute('action');
    try {
      const reply = await send(`/part${path}`, running.abort.signal, how);
      const other = ['next.skip', 'strike'].includes(how.also?.[0]);
      const fine = show(reply, how.writes && (other ? 'other' : 'entry'));
      if (fine && addressable()) place();
    } catch (error) {
      if (error.name !== 'AbortError') now.textContent = error.says ?? 'the program is no longer running';
    }
    clearTimeout(sign);
    wait(false);
    running = null;
    if (again) { const next = again; again = null; renew(next); }
  };
  form.addEventListener('submit', (event) => {
    // Multi-line texts are too long for an address.
    if ([...form.querySelectorAll('textarea')].some((box) => box.value !== '')) form.method = 'post';
    const to = event.submitter?.getAttribute('formaction') ?? '';
    const noted = ['note-value', 'next-value'].some((id) => document.getElementById(id)?.value);
    if (!reloads && to === '' && (noted || event.submitter?.name)) {
      event.preventDefault();
      renew({ writes: true, also: event.submitter?.name ? [event.submitter.name, event.submitter.value] : null });
      return;
    }
    if (to.startsWith('/download/')) {
      if (event.submitter.dataset.of !== 'log' || !document.getElementById('log-file').files.length) return;
      event.preventDefault();
      keep(to);
    } else if (to === '' && document.getElementById('log-file')?.files.length) {
      event.preventDefault();
      renew();
    } else setTimeout(wait, PATIENCE, true);
  });
  window.onpageshow = () => wait(false);

  // A download made from an uploaded log.
  const keep = async (path) => {
    const reply = await send(path);
    save(`oilwheel-${path.split('/').pop()}`, reply);
  };
  let timer = 0;
  let rest = 0;
  const soon = (wait, how = {}) => { clearTimeout(timer); clearTimeout(rest); timer = setTimeout(renew, wait, how); };

  // Sliders write into their boxes. The server parses typed values, and its reply moves the slider.
  for (const slide of form.querySelectorAll('.slide')) {
    const box = document.getElementById(slide.dataset.for);
    slide.hidden = false;
    slide.addEventListener('input', (event) => {
      event.stopPropagation();
      box.value = `${slide.value} ${slide.dataset.unit}`;
      // While a slider moves, bands that take long are left out; they follow when it rests.
      const slow = form.elements.without_bands;
      soon(15, slow ? { also: ['without_bands', 'on'] } : {});
      if (slow) rest = setTimeout(renew, 300, {});
    });
  }

  form.addEventListener('input', (event) => {
    if (event.target.matches('input[type=text], textarea') && !NOTED.test(event.target.name)) soon(400);
  });
  form.addEventListener('change', (event) => {
    if (event.target.id === 'note-test') offers();
    if (event.target.matches('[data-reload]')) {
      // A library machine instead of the user's own file.
      if (event.target.id === 'machine' && event.target.value) document.getElementById('machine-text').value = '';
      clearTimeout(timer);
      reload();
    } else if (event.target.matches('select, input[type=checkbox]') && !NOTED.test(event.target.name)) soon(0);
  });

  // A log is sent as soon as it is chosen, or dropped anywhere on the page; from another tab it leads to the question
  // about logs. It stays over reloads and other tabs until another one is chosen, or the window is closed.
  const drop = document.getElementById('drop');
  const boxes = ['log-file', 'compare-file'].map((id) => document.getElementById(id));
  const take = (box, log) => {
    const carried = new DataTransfer();
    carried.items.add(log);
    box.files = carried.files;
  };
  for (const box of boxes) box?.addEventListener('change', () => { shelf(boxes.map((one) => one.files[0])).catch(() => {}); soon(0); });
  if (drop) {
    shelf().then((kept) => {
      if (boxes.some((box) => box.files.length) || !kept?.[0]) return;
      for (const [i, log] of kept.entries()) if (log) take(boxes[i], log);
      soon(0);
    }).catch(() => {});
  }
  const carries = (event) => event.dataTransfer?.types.includes('Files') && !event.target.matches?.('input[type=file]');
  window.ondragover = (event) => { if (carries(event)) { event.preventDefault(); drop?.classList.add('over'); } };
  window.ondragleave = (event) => { if (!event.relatedTarget) drop?.classList.remove('over'); };
  window.ondrop = async (event) => {
    if (!carries(event)) return;
    event.preventDefault();
    drop?.classList.remove('over');
    const [log] = event.dataTransfer.files;
    if (drop) {
      take(boxes[0], log);
      boxes[0].dispatchEvent(new Event('change'));
      return;
    }
    try {
      await shelf([log]);
      form.querySelector('nav [formaction="/log"]').click();
    } catch { now.textContent = 'this browser cannot pass the log on: open “Read a log” and drop it there'; }
  };

  // Loads a text from a file into its box.
  for (const part of form.querySelectorAll('.scripted')) part.hidden = false;
  for (const file of form.querySelectorAll('input[type=file][data-into]')) {
    file.addEventListener('change', async () => {
      if (!file.files.length) return;
      document.getElementById(file.dataset.into).value = await file.files[0].text();
      form.method = 'post';
      form.requestSubmit();
    });
  }

  // The notebook stored from another tab or on another day.
  if (book()) {
    alive();
    let back = null;
    try {
      back = JSON.parse(sessionStorage.getItem('oilwheel-pending'));
      sessionStorage.removeItem('oilwheel-pending');
    } catch { /* no storage */ }
    if (back) { refill(back); offers(); }
    if (!book().value && stored().at(-1)) {
      held = back;
      write(stored().at(-1), address());
    } else if (book().value && !answer.querySelector('.troubles')) {
      store(book().value);
      // A submitted page is reloaded by its address alone, so that back and reload work.
      if (addressable()) place();
    }
  }

  // Opens the law of a link, if the browser does not.
  const point = () => {
    const target = document.getElementById(location.hash.slice(1));
    for (let at = target?.closest('.law'); at; at = at.parentElement.closest('details')) at.open = true;
  };
  window.onhashchange = point;
  point();
  reviveAll(document);
  deep();
  // For printing, all parts of the answer are opened.
  window.onbeforeprint = () => {
    for (const one of more.querySelectorAll('.depth, .assumed')) one.open = true;
    document.querySelector('footer').dataset.day = `Printed on ${new Date().toISOString().slice(0, 10)}.`;
  };
};
init();
