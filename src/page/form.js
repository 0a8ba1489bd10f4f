// Fields made from the program's own table of keys: one for each key, wherever it stands on the sheet.

let keys = new Map(); // path to row
let groups = [];
const fields = []; // { path, row, control, fault, place, from }
const lists = [];  // { path, row, value, where, items, add, slot, editor }

export function takeKeys(list) {
  groups = list;
  keys = new Map();
  for (const group of list)
    for (const row of group.keys) {
      row.meaning = row.meaning?.replaceAll('`', ''); // the reference pages' mark for a word of a file
      keys.set(group.path ? `${group.path}.${row.name}` : row.name, row);
    }
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

const FRACTIONS = { '½': '1/2', '¼': '1/4', '¾': '3/4', '⅛': '1/8', '⅜': '3/8', '⅝': '5/8', '⅞': '7/8' };

// 1/16" and 1½ inch, as they are written on a bench, in the job file's way: a quotation mark would end the word there.
function plainInches(text) {
  return text.replace(/(\d?)([½¼¾⅛⅜⅝⅞])/, (all, whole, part) => `${whole}${whole ? ' ' : ''}${FRACTIONS[part]}`).replace(/(\d\.?)\s*(?:"|”|″|''|inch|inches)$/, '$1 in');
}

function valueOf(field) {
  const text = field.control.value.trim();
  if (text === '') return null;
  if (field.row.kind === 'measure') return plainInches(text);
  if (field.row.kind !== 'point') return text;
  return text.split(',').map((part) => plainInches(part.trim()));
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

// A default in words may be longer than its field: then it stands below it, in the title block in a line of its own.
const FIELD_CHARACTERS = 22;
const WIDE_FIELD_CHARACTERS = 30;

function fillInput(field, value) {
  const grey = value.from === 'job' ? '' : textOf(value.text) || defaultOf(field.row);
  field.control.value = value.from === 'job' ? textOf(value.text) : '';
  const isLong = grey.length > (field.place === 'all' ? WIDE_FIELD_CHARACTERS : FIELD_CHARACTERS);
  field.control.placeholder = isLong && field.place !== 'drawn' ? 'see below' : grey;
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

// ---- lists ----

const SHAPES = ['point', 'box', 'circle'];

// "-50 mm, 14 mm, 6 mm"; corners are parted by semicolons.
function memberValue(row, text) {
  if (text === '') return null;
  const lengths = (words) => words.split(',').map((part) => part.trim());
  if (!row.several) return text;
  return row.several === 'corners' ? text.split(';').map(lengths) : lengths(text);
}

const memberText = (value) => (Array.isArray(value?.[0]) ? value.map((pair) => pair.join(', ')).join('; ') : textOf(value));

// The table of keys says "shape" for all of them; how many lengths there are stands in the example.
function severalOf(row) {
  if (SHAPES.includes(row.kind)) return 'lengths';
  if (row.kind !== 'shape') return null;
  return row.example?.startsWith('(') ? 'corners' : 'lengths';
}

const listName = (list) => list.row.name.replaceAll('_', ' ');
const button = (words, press, label) => { const made = element('button', { type: 'button', 'aria-label': label }, words); made.addEventListener('click', press); return made; };

// One row's fields. `number` is its own, or the one behind the last.
function openEditor(list, number, member) {
  const box = element('form', { class: 'row', 'aria-label': member ? `row ${number} of ${listName(list)}` : `a new row of ${listName(list)}` });
  const fault = element('p', { class: 'fault', role: 'alert' });
  const inputs = list.row.members.map((row) => {
    const id = `row-${list.path.replaceAll('.', '-')}-${row.name}`;
    const told = { ...row, several: severalOf(row) };
    const control = isChosen(row) ? selectOf(row, id) : element('input', { id, type: 'text', autocomplete: 'off', spellcheck: 'false', placeholder: row.preset ?? '' });
    const was = member ? memberText(member.fields[row.name]) : '';
    control.value = was;
    box.append(element('div', {}, element('label', { for: id }, row.name.replaceAll('_', ' ')), control, element('p', {}, row.meaning, told.several === 'corners' ? '; x, y of each, parted by semicolons' : '', row.derived ? `; empty: ${row.derived}` : '')));
    return { row: told, control, was };
  });
  const close = (focus) => { list.editor = null; list.slot.replaceChildren(); drawList(list); (focus ?? list.add).focus(); };
  box.append(fault, element('p', { class: 'buttons' }, element('button', { type: 'submit' }, 'Write it into job.cfg'), button('Leave it', () => close())));
  box.addEventListener('keydown', (event) => { if (event.key === 'Escape') close(); });
  box.addEventListener('submit', async (event) => {
    event.preventDefault();
    const changed = inputs.filter(({ control, was }) => control.value.trim() !== was);
    const path = `${list.path}[${number}]`;
    if (changed.length === 0) { close(); return; }
    const values = changed.map(({ row, control }) => [row.name, memberValue(row, control.value.trim())]);
    const changes = member ? Object.fromEntries(values.map(([name, value]) => [`${path}.${name}`, value])) : { [path]: Object.fromEntries(values) };
    list.writing = true;
    fault.textContent = await list.write(changes, `Row ${number} of ${listName(list)} is written into job.cfg.`);
    list.writing = false;
    if (!fault.textContent) close(list.items.querySelectorAll('button')[2 * (number - 1)]);
  });
  list.editor = box;
  list.fault.textContent = '';
  list.slot.replaceChildren(box);
  inputs[0].control.focus();
}

// ---- lists of pairs: places along the blade, corners ----

const CORNERS_LEAST = 3;

// What turns the rows that stand there to these. A row that stays is changed at its place, so that a note beside it stays, too;
// then come the new ones, and at last go, from the end on, those that were taken out.
function pairChanges(path, before, rows) {
  const kept = rows.filter((row) => row.number).map((row) => row.number).sort((a, b) => a - b);
  const changes = {};
  rows.forEach((row, i) => {
    const number = kept[i] ?? before.length + 1 + i - kept.length;
    if (i >= kept.length || before[number - 1].join('\n') !== row.pair.join('\n')) changes[`${path}[${number}]`] = row.pair;
  });
  for (let number = before.length; number > 0; number--) if (!kept.includes(number)) changes[`${path}[${number}]`] = null;
  return changes;
}

function pairRow(list, lines, pair, number) {
  const line = element('div', { role: 'group' });
  const inputs = list.columns.map((name) => element('input', { type: 'text', autocomplete: 'off', spellcheck: 'false', 'aria-label': name }));
  inputs.forEach((input, i) => { input.value = pair?.[i] ?? ''; });
  const below = button('Row below', () => { const made = pairRow(list, lines, null, 0); line.after(made); numberPairs(lines); made.querySelector('input').focus(); });
  const away = button('Remove', () => {
    const next = line.nextElementSibling ?? line.previousElementSibling;
    line.remove();
    numberPairs(lines);
    (next?.querySelector('input') ?? list.add).focus();
  });
  line.number = number;
  line.pair = () => inputs.map((input) => input.value.trim());
  line.append(element('span', { class: 'number' }), ...inputs, below, away);
  return line;
}

function numberPairs(lines) {
  [...lines.children].forEach((line, i) => {
    line.setAttribute('aria-label', `row ${i + 1}`);
    line.firstChild.textContent = `${i + 1}`;
  });
}

function openPairs(list) {
  const before = pairsOf(list.value);
  const box = element('form', { class: 'row pairs', 'aria-label': `rows of ${listName(list)}` });
  const fault = element('p', { class: 'fault', role: 'alert' });
  const lines = element('div', { class: 'lines' });
  const close = () => { list.editor = null; list.slot.replaceChildren(); drawList(list); list.add.focus(); };
  lines.append(...before.map((pair, i) => pairRow(list, lines, pair, i + 1)));
  while (lines.children.length < (list.row.kind === 'pairs' ? 1 : CORNERS_LEAST)) lines.append(pairRow(list, lines, null, 0));
  numberPairs(lines);
  box.append(element('p', {}, `${list.columns.join(', ')}: two lengths with their units in each row; for example ${list.row.example}`), lines, fault,
    element('p', { class: 'buttons' }, element('button', { type: 'submit' }, 'Write it into job.cfg'), button('Leave it', close)));
  box.addEventListener('keydown', (event) => { if (event.key === 'Escape') close(); });
  box.addEventListener('submit', async (event) => {
    event.preventDefault();
    const rows = [...lines.children].map((line) => ({ number: line.number, pair: line.pair() })).filter((row) => row.pair.some((words) => words));
    const changes = rows.length === 0 ? { [list.path]: null } : before.length === 0 ? { [list.path]: rows.map((row) => row.pair) } : pairChanges(list.path, before, rows);
    if (Object.keys(changes).length === 0 || (rows.length === 0 && before.length === 0)) { close(); return; }
    list.writing = true;
    fault.textContent = await list.write(changes, `${listName(list)} is ${rows.length === 0 ? 'a note in job.cfg now' : 'written into job.cfg'}.`);
    list.writing = false;
    if (!fault.textContent) close();
  });
  list.editor = box;
  list.fault.textContent = '';
  list.slot.replaceChildren(box);
  lines.querySelector('input').focus();
}

async function removeRow(list, number) {
  const fault = await list.write({ [`${list.path}[${number}]`]: null }, `Row ${number} of ${listName(list)} is a note in job.cfg now.`);
  list.fault.textContent = fault;
  list.add.focus();
}

function drawRow(list, member, i) {
  const own = list.value.from === 'job' && list.row.members;
  const buttons = own ? [' ', button('Change', () => openEditor(list, i + 1, member), `Change row ${i + 1} of ${listName(list)}`), ' ', button('Remove', () => removeRow(list, i + 1), `Remove row ${i + 1} of ${listName(list)}`)] : [];
  return element('li', {}, `line ${member.line}: ${member.words}`, ...buttons);
}

const pairsOf = (value) => (Array.isArray(value.text) ? value.text.filter(Array.isArray) : []);

function linesOf({ value, columns }) {
  if (columns) return pairsOf(value).map((pair) => element('li', {}, pair.map((words, i) => `${columns[i]} ${words}`).join(', ')));
  return value.text ? [element('li', {}, textOf(value.text))] : [];
}

function drawList(list) {
  const { path, row, value } = list;
  const home = value.from === 'job' ? 'job.cfg' : `the profile of the ${path.split('.')[0].replaceAll('_', ' ')}`;
  if (value.from === 'default') list.where.textContent = row.members || list.columns ? 'None is given.' : `None is given. It is written into job.cfg with a text editor, such as ${row.name} = ${row.example};`;
  else list.where.textContent = `Stands in ${home}, line ${value.line}.${row.members || list.columns ? '' : ' Edit it there with a text editor; what it then says shows here.'}`;
  list.items.replaceChildren(...(value.members?.map((member, i) => drawRow(list, member, i)) ?? linesOf(list)));
  if (!list.add) return;
  if (list.columns) {
    list.add.textContent = value.text ? 'Change these rows' : 'Add rows';
    return;
  }
  list.add.textContent = value.from === 'profile' ? 'Copy these rows into job.cfg, to change them there' : 'Add a row';
}

const wordsOf = (value) => (value.members ? value.members.map((member) => member.words).join('\n') : JSON.stringify(value.text));

function leaveEditor(list) {
  list.editor = null;
  list.slot.replaceChildren();
  list.fault.textContent = 'The rows have changed elsewhere; open the one that is meant again.';
}

// Rows are shown anew with every answer; fields that are open stay as they are.
export function showLists(values) {
  for (const list of lists) {
    const before = wordsOf(list.value);
    list.value = values[list.path] ?? { from: 'default' };
    if (list.editor && !list.writing && wordsOf(list.value) !== before) leaveEditor(list); // its number may be another row's now
    if (!list.editor) drawList(list);
  }
}

function addList(key, path, row, write) {
  const list = { path, row, write, columns: row.columns?.split(', '), value: { from: 'default' }, where: element('p'), items: element('ul'), slot: element('div'), fault: element('p', { class: 'fault' }) };
  key.append(element('strong', {}, row.name.replaceAll('_', ' ')), element('p', {}, row.meaning), list.where, list.items);
  key.classList.add('list');
  lists.push(list);
  if (list.columns) {
    list.add = button('Add rows', () => openPairs(list), null);
    key.append(list.add, list.fault, list.slot);
  }
  if (!row.members) return;
  list.add = button('Add a row', async () => {
    if (list.value.from === 'profile') list.fault.textContent = await write({ [path]: true }, `The rows of ${listName(list)} stand in job.cfg now.`);
    else openEditor(list, (list.value.members?.length ?? 0) + 1, null);
  });
  key.append(list.add, list.fault, list.slot);
}

export const fieldsOf = (path) => fields.filter((field) => field.path === path);

// ---- every key ----

// `submit` writes a field, `write` changes of rows; that answers with what was wrong, in words.
export function buildGroups(box, submit, write) {
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
        addList(key, path, row, write);
      }
      inside.append(key);
    }
    const name = group.path ? group.path.replaceAll('_', ' ').replaceAll('.', ', ') : 'the job itself';
    box.append(element('details', {}, element('summary', {}, name, ' ', element('small', {}, group.path && group.meaning !== `the ${name}` ? group.meaning ?? '' : '')), inside));
  }
}
