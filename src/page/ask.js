// What takes long: the plan beside the page, variants, programs and their dry-run. The program answers each by the command of the
// same name, and the last answer stays until the next is there.
import { element, rowOf, spoken } from './form.js';

const by = (id) => document.getElementById(id);
const KINDS = ['preview', 'compare', 'write', 'prove', 'fixture'];
const VARIED = ['taper.butt_thickness', 'wheel.profile', 'coolant.profile', 'order', 'mount', 'heat.flash_limit', 'wheel.speed', 'taper.ricasso_thickness', 'fixture.packing', 'relief'];

const answers = {};      // kind to the last answer
let state = null;        // of the last look
let page = null;         // { ask, change, say, job() }
let stoppedFor = null;   // the job whose plan was stopped by hand
let designing = false;   // this tab asked for a fixture

const inputs = () => (page.job()?.job?.sound ? page.job().job.placement.inputs : null);

// ---- words ----

export function timeWords(seconds) {
  const s = Math.round(seconds);
  if (s < 60) return `${s} s`;
  if (s < 3600) return `${Math.floor(s / 60)} min ${String(s % 60).padStart(2, '0')} s`;
  return `${Math.floor(s / 3600)} h ${String(Math.floor((s % 3600) / 60)).padStart(2, '0')} min`;
}

const inInch = () => page.job()?.job?.placement?.inch;
const degrees = (degC) => (inInch() ? `${Math.round(degC * 1.8 + 32)}\u00a0\u00b0F (${Math.round(degC)}\u00a0\u00b0C)` : `${Math.round(degC)}\u00a0\u00b0C`);
const weight = (g) => (inInch() ? `${(g / 28.349523125).toFixed(2)} oz` : `${g.toFixed(1)} g`);
const length = (mm) => (inInch() ? `${(Math.abs(mm) / 25.4).toFixed(2)} in` : `${Math.abs(mm).toFixed(1)} mm`);
const balanceWords = (mm) => `${length(mm)} ${mm < 0 ? 'ahead of' : 'behind'} the taper start`;

// ---- asking ----

async function ask(kind, more = {}) {
  const answer = await page.ask(`ask/${kind}`, { method: 'POST', body: JSON.stringify({ for: inputs() ?? '', ...more }) });
  if (!answer) return false;
  if (answer.status === 200) { look(answer.body); return true; }
  return (answer.body.findings ?? []).map((f) => f.text).join(' ') || 'This cannot be asked.';
}

async function stop(kind) {
  if (kind === 'preview') stoppedFor = state?.preview.for ?? null;
  const answer = await page.ask(`stop/${kind}`, { method: 'POST' });
  if (answer?.status === 200) look(answer.body);
}

// A sound job that nobody planned yet is planned; what runs for an older one ends by that.
export function planIfNew() {
  const wanted = inputs();
  if (state?.preview.running && page.job()?.job && !wanted) page.ask('stop/preview', { method: 'POST' }); // nobody waits for it now
  if (!wanted || !state || stoppedFor === wanted) return;
  if (state.preview.running ? state.preview.for === wanted : answers.preview?.for === wanted) return;
  ask('preview');
}

async function fetchAnswer(kind) {
  const answer = await page.ask(`answer/${kind}`);
  if (answer?.status !== 200) return;
  answers[kind] = answer.body;
  if (kind === 'prove' || kind === 'write') page.refresh();
  if (kind === 'fixture' && designing) await takeFixture(answers[kind]);
}

// What the program tells at every look: what runs, and how many answers there were.
export async function look(body) {
  state = body.asks;
  for (const kind of KINDS)
    if (state[kind].number > 0 && state[kind].number !== answers[kind]?.number) await fetchAnswer(kind);
  show();
  planIfNew();
}

// ---- the plan ----

const refusal = (answer) => answer.said.filter((line) => !line.startsWith('note: '));
const remarks = (answer) => answer.said.filter((line) => line.startsWith('note: ')).map((line) => line.slice(6));

function costWords(figures) {
  if (!figures.limit_costs.length) return 'none costs a second';
  return figures.limit_costs.map((cost) => `${cost.limit} ${timeWords(cost.saves_s)}`).join(', ');
}

function fill(id, words, small = '') {
  by(id).replaceChildren(words, ...(small ? [element('br'), element('small', {}, small)] : []));
}

function showFigures(figures) {
  const knife = figures?.balance?.knife?.finished;
  fill('out-passes', figures ? String(figures.pass_count) : '–');
  fill('out-time', figures ? timeWords(figures.cycle_time_s / figures.parts) : '–', figures && figures.parts > 1 ? `${timeWords(figures.cycle_time_s)} for ${figures.parts} parts` : '');
  fill('out-peak', figures ? degrees(figures.peak_degC) : '–', figures ? `with the reserve ${degrees(figures.peak_with_reserve_degC)} of ${degrees(figures.flash_limit_degC)} allowed` : '');
  fill('out-cost', figures ? costWords(figures) : '–');
  fill('out-off', figures ? weight(figures.removed_g) : '–');
  fill('out-knife', knife ? `${weight(knife.mass_g)}, ${balanceWords(knife.x_mm)}` : '–', figures && !knife ? 'tell the blank’s mass and balance point, and it is worked out' : '');
}

function planWords(answer) {
  const wanted = inputs();
  if (state?.preview.running) return `planning, ${timeWords(state.preview.seconds)}${answer ? '; above is the last answer' : ''}`;
  if (!wanted) return answer ? 'the job has faults; above is the last answer' : 'waits for a job without faults';
  if (!answer || answer.for !== wanted) return stoppedFor === wanted ? 'stopped' : 'not planned yet';
  if (answer.status === 0) return `planned and proved in ${answer.seconds.toFixed(1)} s; it says nothing about whether the setup is safe`;
  return answer.status === 4 ? 'no plan meets the limits of this job' : 'the planning failed';
}

function showPlan() {
  const answer = answers.preview;
  const isNow = answer && answer.for === inputs() && !state?.preview.running;
  const box = by('cells');
  box.classList.toggle('old', !isNow);
  by('plan-words').textContent = planWords(answer);
  by('plan-stop').hidden = !state?.preview.running;
  by('plan-again').hidden = state?.preview.running || !inputs() || (isNow && answer.status === 0);
  by('plan-sheet').hidden = !answer?.sheet;
  showFigures(answer?.status === 0 ? answer.figures : null);
  const lines = answer && isNow ? [...(answer.status === 0 ? [] : refusal(answer)), ...remarks(answer)] : [];
  by('plan-notes').replaceChildren(...lines.map((line) => element('li', {}, line)));
}

// ---- a sheet's player and maps, inside of the page ----

// Fetched when it is opened, and again when there is another answer. The sheet runs in a box of its own.
function showInside(id, number) {
  const box = by(id), old = box.querySelector('iframe');
  if (!box.open || !number) { old?.remove(); return; }
  if (old?.dataset.number === String(number)) return;
  const frame = element('iframe', { src: `sheet/${box.dataset.sheet}`, sandbox: 'allow-scripts', title: box.querySelector('summary').textContent, 'data-number': number });
  if (old) old.replaceWith(frame); else box.append(frame);
}

function showSheets() {
  const planned = answers.preview?.sheet ? answers.preview.number : 0;
  by('wheel-way').hidden = !planned || !page.job()?.job;
  showInside('play-here', planned);
  showInside('heat-here', planned);
  showInside('maps-here', answers.prove?.figures ? answers.prove.number : 0);
}

// ---- variants ----

const isProfile = (path) => path.endsWith('.profile');

function valuesOf(path) {
  const row = rowOf(path);
  if (isProfile(path)) {
    const kind = path.replace('.profile', '');
    return page.job().profiles[kind].map((name) => [`profiles/${kind}s/${name}`, name.replace(/\.cfg$/, '')]);
  }
  if (path === 'relief') return [['none', 'none']];
  return row?.words.length ? row.words.map((word) => [word, word]) : null;
}

const VARIANTS_MOST = 6; // with the job itself
const KEYS_MOST = 4;
const rows = [];         // { box, key, values, path }, one for each key that differs
let rowNumber = 0;
let varySaid = '';       // why nothing was asked, until something is

// With several keys each value of one meets each of the others, so the one that the job has can be chosen, too.
function fillValues(row) {
  const choices = valuesOf(row.path), now = page.job()?.job?.values?.[row.path]?.text;
  const chosen = [...row.values.querySelectorAll(':checked')].map((box) => box.value);
  if (!choices) {
    const id = `vary-text-${row.number}`;
    if (row.values.querySelector('input[type="text"]')?.dataset.path === row.path) return;
    row.values.replaceChildren(element('label', { for: id }, 'Values, with commas'), element('input', { id, type: 'text', autocomplete: 'off', 'data-path': row.path, placeholder: rowOf(row.path)?.example?.replaceAll('"', '') }));
    return;
  }
  const offered = choices.filter(([value]) => value !== now || rows.length > 1);
  row.values.replaceChildren(...(offered.length ? [] : ['there is no other in this folder']), ...offered.map(([value, words]) => {
    const box = element('input', { type: 'checkbox', value });
    box.checked = chosen.includes(value);
    return element('label', {}, box, ` ${words}${value === now ? ', as the job has it' : ''}`);
  }));
}

// Commas inside brackets or quotes part no values; of those there are none among the keys that are offered.
function chosenValues(row) {
  const text = row.values.querySelector('input[type="text"]');
  return text ? text.value.split(',').map((value) => value.trim()).filter(Boolean) : [...row.values.querySelectorAll(':checked')].map((box) => box.value);
}

function showCount() {
  const counts = rows.map((row) => chosenValues(row).length);
  const count = counts.reduce((product, n) => product * n, 1);
  const tooMany = count + 1 > VARIANTS_MOST;
  by('vary-count').textContent = counts.includes(0) ? '' : tooMany ? `${count} variants are too many: five can stand beside the job` : rows.length > 1 ? `each with each: ${count} ${count === 1 ? 'variant' : 'variants'} beside the job` : '';
  by('vary-count').className = tooMany ? 'bad' : '';
  by('vary-go').disabled = tooMany;
}

export function showVaried() {
  for (const row of rows) {
    for (const option of row.key.options) option.disabled = rows.some((other) => other !== row && other.path === option.value);
    row.away.hidden = rows.length < 2;
    fillValues(row);
  }
  by('vary-more').disabled = rows.length >= KEYS_MOST;
  showCount();
}

function addRow() {
  const number = (rowNumber += 1), id = `vary-key-${number}`;
  const path = VARIED.find((one) => !rows.some((row) => row.path === one));
  const row = { number, path, values: element('div', { class: 'values' }), key: element('select', { id }), away: element('button', { type: 'button' }, 'Without this key') };
  row.key.append(...VARIED.map((one) => element('option', { value: one }, isProfile(one) ? one.replace('.profile', '') : spoken(one))));
  row.key.value = path;
  row.box = element('div', { class: 'vary-row', role: 'group', 'aria-label': `Key ${number}` }, element('label', { for: id }, rows.length ? 'and' : 'What differs'), row.key, row.values, row.away);
  row.key.addEventListener('change', () => { row.path = row.key.value; showVaried(); });
  row.values.addEventListener('input', showCount);
  row.away.addEventListener('click', () => {
    rows.splice(rows.indexOf(row), 1);
    row.box.remove();
    rows[0].box.firstChild.textContent = 'What differs';
    showVaried();
    by('vary-more').focus();
  });
  rows.push(row);
  by('vary-rows').append(row.box);
  showVaried();
  return row;
}

async function compare(event) {
  event.preventDefault();
  varySaid = '';
  if (rows.some((row) => chosenValues(row).length === 0)) varySaid = rows.length > 1 ? 'Choose at least one value of each key.' : 'Choose at least one value.';
  const asked = varySaid || (await ask('compare', { words: rows.map((row) => `${row.path}=${chosenValues(row).join(',')}`) }));
  varySaid = asked === true ? '' : asked || '';
  by('vary-said').textContent = varySaid;
}

function variantRows(variants) {
  const dearest = (v) => Object.entries(v.limit_costs_s).sort((a, b) => b[1] - a[1])[0];
  const first = variants[0];
  return [
    ['time for one part', (v) => timeWords(v.cycle_time_s / v.parts)],
    ['against the job', (v) => (first.refused || v === first ? '–' : `${Math.round((100 * v.cycle_time_s * first.parts) / (first.cycle_time_s * v.parts))} %`)],
    ['passes', (v) => String(v.pass_count)],
    ['hottest, with the reserve', (v) => `${degrees(v.peak_with_reserve_degC)} of ${degrees(v.allowed_degC)}`],
    ['waits to cool', (v) => timeWords(v.dwell_s)],
    ['a tenth looser saves most', (v) => { const cost = dearest(v); return cost && cost[1] >= 1 ? `${cost[0]}, ${timeWords(cost[1])}` : '–'; }],
    ['taken off a part', (v) => weight(v.removed_g)],
    ['knife, balances', (v) => (v.knife_g ? `${weight(v.knife_g)}, ${balanceWords(v.balance_mm)}` : '–')],
  ];
}

const short = (value) => value.replace(/^.*\//, '').replace(/\.cfg$/, '');
const changesWords = (changes) => Object.entries(changes).map(([key, value]) => `${spoken(key)} ${short(value)}`).join(', ') || 'as the job stands';

function takeButton(variant) {
  const keys = Object.keys(variant.changes);
  if (!keys.length || variant.refused || keys.some((key) => !rowOf(key) && !isProfile(key))) return '';
  const button = element('button', { type: 'button' }, 'Take it');
  button.setAttribute('aria-label', `Take it into the job: ${changesWords(variant.changes)}`);
  button.addEventListener('click', () => page.change(Object.fromEntries(keys.map((key) => [key, variant.changes[key] === 'none' ? null : variant.changes[key]])), 'The variant is written into job.cfg.'));
  return button;
}

function showVariants() {
  const answer = answers.compare, running = state?.compare.running;
  by('vary-stop').hidden = !running;
  if (running) by('vary-said').textContent = `planning the variants, ${timeWords(state.compare.seconds)}`;
  if (!running && varySaid) by('vary-said').textContent = varySaid;
  if (!answer) return;
  if (!running && !varySaid) by('vary-said').textContent = answer.status === 0 ? (answer.for === inputs() ? '' : 'Of the job as it was then.') : refusal(answer).join(' ');
  const variants = answer.figures?.variants;
  by('vary-box').hidden = !variants;
  if (!variants || by('vary-table').dataset.number === String(answer.number)) return;
  by('vary-table').dataset.number = answer.number;
  by('vary-table').replaceChildren(
    element('caption', { class: 'sr' }, 'Variants side by side'),
    element('thead', {}, element('tr', {}, element('td'), ...variants.map((v) => element('th', { scope: 'col' }, changesWords(v.changes))))),
    element('tbody', {},
      ...variantRows(variants).map(([name, words]) => element('tr', {}, element('th', { scope: 'row' }, name), ...variants.map((v) => element('td', {}, v.refused ? '–' : words(v))))),
      ...(variants.some((v) => v.refused) ? [element('tr', {}, element('th', { scope: 'row' }, 'refused'), ...variants.map((v) => element('td', {}, v.refused ?? '–')))] : []),
      element('tr', {}, element('td'), ...variants.map((v) => element('td', {}, takeButton(v))))));
}

// ---- programs ----

const number = (value) => String(Number(value.toPrecision(4)));
const UNITS = { degC: '\u00b0C', mm3: 'mm\u00b3' };
const measure = (value, unit) => `${number(value)} ${UNITS[unit] ?? unit}`;

function checkRow(check) {
  return element('tr', {}, element('td', { class: check.pass ? 'good' : 'bad' }, check.pass ? 'pass' : 'FAIL'), element('th', { scope: 'row' }, check.name, element('small', {}, check.question)),
    element('td', {}, measure(check.worst, check.unit), element('small', {}, check.line > 0 ? `line ${check.line}` : '')), element('td', {}, measure(check.limit, check.unit)));
}

// A body of rows for each program, in the order of the dry-run; what failed stands first in it.
function checkBodies(checks) {
  return [...new Set(checks.map((check) => check.program))].map((program) => element('tbody', {},
    element('tr', {}, element('th', { scope: 'rowgroup', colspan: 4, class: 'program' }, short(program))),
    ...checks.filter((check) => check.program === program).sort((a, b) => a.pass - b.pass).map(checkRow)));
}

function showVerdict(answer) {
  const figures = answer?.figures;
  by('verdict').hidden = !figures;
  if (!figures) return;
  const cut = figures.verdict === 'cut', old = figures.inputs !== inputs();
  by('verdict-is').className = cut ? 'good' : 'bad';
  by('verdict-is').textContent = `${cut ? 'CUT' : 'DO NOT CUT'}: ${cut ? `all ${figures.checks.length} checks of the programs passed` : 'not all checks passed'}${old ? ', for the job as it was then' : ''}`;
  const known = remarks(answers.preview ?? { said: [] });
  const files = remarks(answer).filter((words) => !known.includes(words)); // an edited program, say; of the job the plan has told
  by('verdict-reasons').replaceChildren(...[...files, ...figures.reasons, ...(figures.unproved ? [figures.unproved] : []), ...figures.remarks].map((words) => element('li', {}, typeof words === 'string' ? words : words.text ?? JSON.stringify(words))));
  if (by('verdict-table').dataset.number === String(answer.number)) return;
  by('verdict-table').dataset.number = answer.number;
  by('verdict-table').replaceChildren(element('caption', { class: 'sr' }, 'Checks of the dry-run'),
    element('thead', {}, element('tr', {}, ...['', 'check', 'worst', 'limit'].map((name) => (name ? element('th', { scope: 'col' }, name) : element('td'))))),
    ...checkBodies(figures.checks));
}

function programsWords() {
  if (state?.write.running) return `planning and writing, ${timeWords(state.write.seconds)}`;
  if (state?.prove.running) return `running the programs, ${timeWords(state.prove.seconds)}`;
  const last = [answers.write, answers.prove].filter(Boolean).filter((answer) => answer.status > 1);
  return last.map((answer) => refusal(answer).join(' ')).join(' ');
}

function showPrograms() {
  const running = state?.write.running || state?.prove.running;
  const there = page.job()?.programs;
  const names = there?.names.filter((name) => !name.startsWith('summary')) ?? [];
  by('stop-programs').hidden = !running;
  by('write').disabled = !inputs() || running;
  by('prove').disabled = !inputs() || running || names.length === 0;
  by('sheet-programs').hidden = !names.includes('setup.html');
  by('programs-said').textContent = programsWords() || by('programs-said').dataset.said || '';
  by('programs-are').replaceChildren(...(names.length === 0 ? ['There are none yet.'] : ['In programs: ', ...names.flatMap((name, i) => [i ? ', ' : '', element('span', { class: 'name' }, name)]),
    there.for === inputs() ? '. They are of this job.' : '. They are of another state of the job: write them again before they go to the machine.']));
  showVerdict(answers.prove);
}

async function askPrograms(kind) {
  const asked = await ask(kind);
  by('programs-said').dataset.said = asked === true ? '' : asked || '';
  showPrograms();
}

// ---- fixture ----

// Keys of the job that would override the designed profile.
const OVERRIDES = ['fixture.keep_outs', 'fixture.stations', 'fixture.clearance', 'fixture.pull'];

const ofJob = (path) => page.job().job.values[path]?.from === 'job';

// A rest that was ground for another taper, stops of another knife, too few stations: what is designed anew does not look at them.
const onlyStopsAmiss = () => page.job().findings.every((finding) => !finding.fault || page.wantsFixture(finding));

function stations() {
  const parts = Number(page.job().job.values.parts.text ?? 1);
  return parts > 1 ? { stations: parts } : {};
}

export async function design() {
  designing = true;
  if (!inputs() && ofJob('fixture.keep_outs')) await page.change({ 'fixture.keep_outs': null }, 'The stops of the job are notes now.');
  const asked = inputs() || onlyStopsAmiss() ? await ask('fixture', stations()) : 'The job has other faults: correct these first; the notes say how.';
  if (asked !== true) designing = false;
  by('design-said').textContent = asked === true ? '' : asked;
}

async function takeFixture(answer) {
  designing = false;
  by('design-said').textContent = answer.status === 0 ? '' : refusal(answer).join(' ');
  if (answer.status !== 0) return;
  const notes = Object.fromEntries(OVERRIDES.filter(ofJob).map((path) => [path, null]));
  await page.change({ 'fixture.profile': 'fixture/fixture.cfg', ...notes }, 'The fixture is designed, and the job names it.');
}

function showFixture() {
  const running = state?.fixture.running;
  by('design').disabled = !page.job()?.job || running;
  by('design-stop').hidden = !running;
  by('sheet-fixture').hidden = !page.job()?.fixture;
  if (running) by('design-said').textContent = `designing, ${timeWords(state.fixture.seconds)}`;
}

export function show() {
  showFixture();
  showPlan();
  showVariants();
  showPrograms();
  showSheets();
}

// ---- the sheet ----

export function build(of) {
  page = of;
  for (const id of ['play-here', 'heat-here', 'maps-here']) by(id).addEventListener('toggle', showSheets);
  addRow();
  by('vary-more').addEventListener('click', () => addRow().key.focus());
  by('vary').addEventListener('submit', compare);
  by('vary-stop').addEventListener('click', () => stop('compare'));
  by('plan-stop').addEventListener('click', () => stop('preview'));
  by('plan-again').addEventListener('click', () => { stoppedFor = null; ask('preview'); });
  by('write').addEventListener('click', () => askPrograms('write'));
  by('prove').addEventListener('click', () => askPrograms('prove'));
  by('design').addEventListener('click', design);
  by('design-stop').addEventListener('click', () => { designing = false; by('design-said').textContent = 'stopped'; stop('fixture'); });
  by('stop-programs').addEventListener('click', async () => { await stop('write'); await stop('prove'); });
}
