// mirror.js: the picture as real elements, for screen readers and other tools: one for each area that can
// be touched, at its place and with its name, role, state and value; all words; and what changes by
// itself, as a live region. They lie over the picture, but fingers go through them.
'use strict';

function adretMirror(act) {
  const main = document.getElementById('mirror');
  const title = document.createElement('h1'), areas = document.createElement('div'),
        words = document.createElement('div'), live = document.createElement('div');
  title.className = words.className = live.className = 'unseen';
  live.setAttribute('role', 'status');
  main.append(title, live, areas, words);
  const ROLES = {button: 'button', choice: 'radio', tick: 'checkbox', field: 'button', figure: 'button', hold: 'button'};
  let last = '', known = [];

  function element(i) {
    if (known[i]) return known[i];
    const box = document.createElement('div');
    box.className = 'area';
    box.tabIndex = -1;
    box.addEventListener('click', () => act(box.dataset.name));
    areas.append(box);
    return known[i] = box;
  }
  function set(box, name, value) {
    if (value === null) box.removeAttribute(name);
    else if (box.getAttribute(name) !== value) box.setAttribute(name, value);
  }
  function show(text) {
    if (text === last) return;
    last = text;
    const seen = JSON.parse(text);
    if (seen.language) document.documentElement.lang = seen.language;
    // The element of the area that has the page's focus; the next one at its place is another area.
    const held = document.activeElement, heldName = held.dataset && held.dataset.name;
    if (title.textContent !== seen.title) title.textContent = seen.title;
    if (live.textContent !== seen.live) live.textContent = seen.live;
    seen.areas.forEach((area, i) => {
      const box = element(i), role = ROLES[area.role] || 'button';
      const name = area.value && area.role !== 'tick' ? `${area.name}: ${area.value}` : area.name;
      box.dataset.name = area.name;
      set(box, 'role', role);
      set(box, 'aria-label', name);
      set(box, 'aria-disabled', area.enabled ? null : 'true');
      set(box, 'aria-checked', role === 'radio' || role === 'checkbox' ? String(area.chosen) : null);
      set(box, 'aria-description', area.refused || (area.role === 'tick' && area.value) || null);
      const [x, y, w, h] = area.box;
      box.style.left = `${x}px`;
      box.style.top = `${y}px`;
      box.style.width = `${Math.max(1, w)}px`;
      box.style.height = `${Math.max(1, h)}px`;
    });
    for (const box of known.splice(seen.areas.length)) box.remove();
    seen.words.forEach((line, i) => {
      const p = words.children[i] || words.appendChild(document.createElement('p'));
      if (p.textContent !== line) p.textContent = line;
    });
    while (words.children.length > seen.words.length) words.lastChild.remove();
    if (heldName && held.dataset.name !== heldName) held.blur();
    // The program's focus is the page's.
    const focused = known.find((box) => box.dataset.name === seen.focus);
    const writes = document.activeElement && document.activeElement.id === 'writing';
    if (focused && !writes && document.activeElement !== focused) focused.focus({preventScroll: true});
  }
  return {show};
}
