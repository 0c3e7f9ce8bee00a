// The page works without this: it only asks sooner and shows slides.
'use strict';
(() => {
  const form = document.getElementById('ask');
  const answer = document.getElementById('answer');
  const now = document.getElementById('now');
  if (!form || !answer) return;

  // What was typed; empty fields say nothing.
  const typed = () => {
    const all = new URLSearchParams();
    for (const [name, value] of new FormData(form)) {
      if (typeof value === 'string' && value !== '') all.append(name, value);
    }
    return all;
  };
  form.addEventListener('formdata', (event) => {
    for (const [name, value] of [...event.formData]) if (value === '') event.formData.delete(name);
  });

  // What is wrong stands beside its field.
  const mark = (troubles) => {
    for (const place of form.querySelectorAll('.wrong')) place.textContent = '';
    for (const box of form.querySelectorAll('[aria-invalid]')) box.removeAttribute('aria-invalid');
    let placed = 0;
    for (const trouble of troubles) {
      const place = document.getElementById(`${trouble.dataset.for}-wrong`);
      const box = document.getElementById(trouble.dataset.for);
      if (!place) continue;
      place.textContent = place.textContent ? `${place.textContent}. ${trouble.dataset.said}` : trouble.dataset.said;
      if (box) box.setAttribute('aria-invalid', 'true');
      for (let at = place.closest('details'); at; at = at.parentElement.closest('details')) at.open = true;
      placed += 1;
    }
    return placed;
  };

  const show = (text) => {
    const fresh = new DOMParser().parseFromString(text, 'text/html').body;
    const ok = !fresh.querySelector('.troubles');
    const troubles = [...fresh.querySelectorAll('.troubles li')];
    const placed = mark(troubles.filter((t) => t.dataset.for));
    answer.classList.toggle('stale', !ok && placed === troubles.length);
    if (!ok && placed === troubles.length) {
      now.textContent = 'see the field marked';
      return false;
    }
    const open = new Set([...answer.querySelectorAll('details[open][data-key]')].map((d) => d.dataset.key));
    for (const one of fresh.querySelectorAll('details[data-key]')) one.open = open.has(one.dataset.key);
    answer.replaceChildren(...fresh.childNodes);
    const number = answer.querySelector('[data-now]');
    now.textContent = number ? number.textContent : (ok ? '' : 'no answer');
    return ok;
  };

  // One request at a time; what changes meanwhile is asked afterwards.
  let busy = false;
  let again = false;
  const ask = async () => {
    if (busy) { again = true; return; }
    busy = true;
    const path = new URL(form.action).pathname;
    const all = typed();
    try {
      const reply = await fetch(`/part${path}`, { method: 'POST', body: all });
      const fine = reply.ok && show(await reply.text());
      if (!reply.ok) now.textContent = 'that did not work: try again';
      if (fine && form.method === 'get') history.replaceState(null, '', `${path}?${all}`);
    } catch {
      now.textContent = 'the program has ended';
    }
    busy = false;
    if (again) { again = false; ask(); }
  };
  let timer = 0;
  const soon = (wait) => { clearTimeout(timer); timer = setTimeout(ask, wait); };

  // Slides write into their box; the box moves its slide.
  for (const slide of form.querySelectorAll('.slide')) {
    const box = document.getElementById(slide.dataset.for);
    const follow = () => {
      const found = /^\s*([-−]?[\d.]+)\s*(.*?)\s*$/.exec(box.value);
      if (found && found[2] === slide.dataset.unit) slide.value = found[1].replace('−', '-');
      if (box.value === '') slide.value = slide.defaultValue;
    };
    slide.hidden = false;
    slide.addEventListener('input', (event) => {
      event.stopPropagation();
      box.value = `${slide.value} ${slide.dataset.unit}`;
      soon(15);
    });
    box.addEventListener('input', follow);
    follow();
  }

  form.addEventListener('input', (event) => {
    if (event.target.matches('input:not([type]), input[type=text], textarea')) soon(400);
  });
  form.addEventListener('change', (event) => {
    if (event.target.matches('[data-reload]')) {
      // A machine of the library instead of one's own file.
      if (event.target.id === 'machine' && event.target.value) document.getElementById('machine-text').value = '';
      clearTimeout(timer);
      form.requestSubmit();
    } else if (event.target.matches('select, input[type=checkbox]')) soon(0);
  });

  // A machine file is read here, into its box.
  const file = document.getElementById('machine-file');
  for (const part of form.querySelectorAll('.scripted')) part.hidden = false;
  file?.addEventListener('change', async () => {
    if (!file.files.length) return;
    document.getElementById('machine-text').value = await file.files[0].text();
    form.method = 'post';
    form.requestSubmit();
  });

  // A law that is pointed at opens, where the browser does not open it by itself.
  const point = () => {
    const target = document.getElementById(location.hash.slice(1));
    if (target?.closest('.law')) target.closest('.law').open = true;
  };
  window.addEventListener('hashchange', point);
  point();
})();
