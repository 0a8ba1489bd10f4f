// Fields made from the program's own table of keys: one for each key, wherever it stands on the sheet.

let keys = new Map(); // path to row
let groups = [];
const fields = []; // { path, row, control, fault, place, from }
const lists = [];  // { path, row, where, items }

export function takeKeys(list) {
  groups = list;
  keys = new Map();
  for (const group of list)
    for (const row of group.keys) keys.set(group.path ? `${group.path}.${row.name}` : row.name, row);
}

export const rowOf = (path) => keys.get(path);
export const spoken = (path) => path.split('.').slice(path.startsWith('taper.') || path.startsWith('finish.') ? 1 : 0).join(' ').replaceAll('_', ' ');

export function element(name, attributes = {}, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) if (value !== undefined && value !== null) made.setAttribute(key, value);
  made.append(...inside);
  return made;
}

// ---- words ----

const number = (value) => String(Number(value.toPrecision(10)));

export function rangeOf(row) {
  if (row.kind === 'count' || row.kind === 'ratio') return `${number(row.least)} to ${number(row.most)}`;
  if (row.kind === 'measure') return `${number(row.least)} to ${number(row.most)} ${row.unit}`;
  return '';
}

const defaultOf = (row) => row.derived ?? row.preset ?? (row.required ? 'must be given' : '');

function hint(row) {
  const parts = [];
  if (row.kind === 'measure') parts.push(`${rangeOf(row)}; units ${row.units}`);
  else if (rangeOf(row)) parts.push(rangeOf(row));
  if (row.kind === 'point') parts.push('two lengths');
  parts.push(row.required ? 'must be given' : `default: ${defaultOf(row)}`);
  if (row.source) parts.push(`source: ${row.source}`);
  return parts.join('; ');
}

// ---- one field ----

function selectOf(row, id) {
  const select = element('select', { id });
  if (!row.required) select.append(element('option', { value: '' }, ''));
  for (const word of row.words.length ? row.words : ['true', 'false']) select.append(element('option', { value: word }, word));
  return select;
}

const isChosen = (row) => row.words.length > 0 || row.kind === 'flag';

function controlOf(path, row, id) {
  if (isChosen(row)) return selectOf(row, id);
  return element('input', { id, type: 'text', autocomplete: 'off', spellcheck: 'false', inputmode: row.kind === 'count' ? 'numeric' : null });
}

function valueOf(field) {
  const text = field.control.value.trim();
  if (text === '') return null;
  if (field.row.kind !== 'point') return text;
  return text.split(',').map((part) => part.trim());
}

const textOf = (value) => (Array.isArray(value) ? value.flat(9).join(', ') : value ?? '');

const RESTS_MS = 500;

// One unit of the last decimal that stands there, with Shift ten; a fraction is left alone.
function stepped(text, steps) {
  const parts = /^(-?\d+(?:\.(\d+))?)(\s*[a-zA-Z/].*)?$/.exec(text.trim());
  if (!parts || /^\s*\//.test(parts[3] ?? '')) return null;
  const decimals = parts[2]?.length ?? 0;
  return `${(Number(parts[1]) + steps * 10 ** -decimals).toFixed(decimals)}${parts[3] ?? ''}`;
}

// The arrow keys turn a number up and down; it is written when they rest.
function stepByKeys(field) {
  let timer = 0;
  field.control.addEventListener('keydown', (event) => {
    const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    const text = way ? stepped(field.control.value, way * (event.shiftKey ? 10 : 1)) : null;
    if (text === null) return;
    event.preventDefault();
    field.control.value = text;
    field.typing = true;
    clearTimeout(timer);
    timer = setTimeout(() => { if (field.typing) field.control.dispatchEvent(new Event('change')); }, RESTS_MS);
  });
}

// Appends label, control and fault to `box`. `submit` is called with the path and its new value, null for none.
export function addField(box, place, path, words, submit) {
  const row = keys.get(path);
  const id = `${place}-${path.replaceAll('.', '-')}`;
  const field = { path, row, place, control: controlOf(path, row, id), fault: element('p', { class: 'fault', id: `${id}-fault` }) };
  field.control.setAttribute('aria-describedby', `${id}-fault`);
  field.control.dataset.key = path;
  field.control.addEventListener('input', () => { field.typing = true; });
  field.control.addEventListener('change', () => { field.typing = false; submit(path, valueOf(field), field); });
  if (['measure', 'count', 'ratio'].includes(row.kind)) stepByKeys(field);
  if (place === 'block') field.below = element('small', {});
  box.append(element('label', { for: id }, words), field.control, ...(field.below ? [field.below] : []), field.fault);
  fields.push(field);
  return field;
}

// Another control for a key that is no row of the table: the file of a profile.
export function addChoice(box, place, path, words, submit) {
  const id = `${place}-${path.replaceAll('.', '-')}`;
  const field = { path, row: null, place, control: element('select', { id, 'aria-describedby': `${id}-fault` }), fault: element('p', { class: 'fault', id: `${id}-fault` }) };
  field.control.dataset.key = path;
  field.control.addEventListener('change', () => submit(path, field.control.value, field));
  box.append(element('label', { for: id }, words), field.control, field.fault);
  fields.push(field);
  return field;
}

function fillSelect(field, value) {
  const first = field.control.options[0];
  if (first && first.value === '') first.textContent = value.from === 'job' ? `(${defaultOf(field.row)})` : `${textOf(value.text) || defaultOf(field.row)} (${value.from})`;
  field.control.value = value.from === 'job' ? textOf(value.text) : '';
}

// A default in words may be longer than its field: then it stands below it.
const FIELD_CHARACTERS = 22;

function fillInput(field, value) {
  const grey = value.from === 'job' ? '' : textOf(value.text) || defaultOf(field.row);
  field.control.value = value.from === 'job' ? textOf(value.text) : '';
  field.control.placeholder = grey.length > FIELD_CHARACTERS && field.below ? 'by itself' : grey;
  if (field.below) field.below.textContent = grey.length > FIELD_CHARACTERS ? grey : '';
}

// What a person is typing is left alone. What was refused stays in its field with the reason, until it is changed again.
export function showValues(values, findings, refused) {
  for (const field of fields) {
    const value = values[field.path];
    const saying = refused.get(field.path) ?? findings.filter((f) => f.fault && f.key === field.path).map((f) => f.text).join(' ');
    field.fault.textContent = saying;
    field.control.toggleAttribute('aria-invalid', false);
    if (saying) field.control.setAttribute('aria-invalid', 'true');
    if (!value || !field.row || refused.has(field.path) || (field.control === document.activeElement && field.typing)) continue;
    if (isChosen(field.row)) fillSelect(field, value);
    else fillInput(field, value);
    if (field.origin) field.origin.textContent = value.from === 'job' ? `job.cfg, line ${value.line}` : value.from;
  }
}

// A list, or a shape of several points, is changed in a text editor: where it stands, and what it says.
export function showLists(values) {
  for (const { path, row, where, items } of lists) {
    const value = values[path] ?? { from: 'default' };
    const lines = value.members?.map((member) => `line ${member.line}: ${member.words}`) ?? (value.text ? [textOf(value.text)] : []);
    const home = value.from === 'job' ? 'job.cfg' : `the profile of the ${path.split('.')[0].replaceAll('_', ' ')}`;
    where.textContent = value.from === 'default' ? `None is given. It is written into job.cfg with a text editor, such as ${row.name} = ${row.example};` : `Stands in ${home}, line ${value.line}. Edit it there with a text editor; what it then says shows here.`;
    items.replaceChildren(...lines.map((words) => element('li', {}, words)));
  }
}

export const fieldsOf = (path) => fields.filter((field) => field.path === path);

// ---- every key ----

export function buildGroups(box, submit) {
  const few = ['point', 'text', 'file', 'word', 'flag', 'count', 'ratio', 'measure', 'axis'];
  for (const group of groups) {
    const inside = element('div', { class: 'keys' });
    for (const row of group.keys) {
      const path = group.path ? `${group.path}.${row.name}` : row.name;
      const key = element('div', { class: 'key' });
      if (few.includes(row.kind)) {
        const field = addField(key, 'all', path, row.name.replaceAll('_', ' '), submit);
        field.origin = element('span', { class: 'from' });
        key.firstChild.append(' ', field.origin);
        key.append(element('p', {}, row.meaning), element('p', {}, hint(row)));
      } else {
        const list = { path, row, where: element('p'), items: element('ul') };
        key.append(element('strong', {}, row.name.replaceAll('_', ' ')), element('p', {}, row.meaning), list.where, list.items);
        key.classList.add('list');
        lists.push(list);
      }
      inside.append(key);
    }
    box.append(element('details', {}, element('summary', {}, group.path ? group.path.replaceAll('_', ' ').replaceAll('.', ', ') : 'the job itself', ' ', element('small', {}, group.path ? group.meaning ?? '' : '')), inside));
  }
}
