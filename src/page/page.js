// The bench page: shows what stands in the job file, and has every change written into it.
import { along, draw, drawEdge, isUpright, middleLine, middleOf, outerNames, reach, ringFor, section, tangWay, unit } from './draw.js';
import * as asks from './ask.js';
import { addChoice, addField, buildGroups, element, fieldsOf, rowOf, showLists, showValues, spoken, takeKeys } from './form.js';

const by = (id) => document.getElementById(id);
const POLL_MS = 1000;
const HOW = 'Click where the taper starts; the mark snaps to the middle of the tang. With the keyboard, Tab to a mark and use the arrow keys: along the tang it stays in the middle, across it moves by 0.1 mm, with Shift ten times as far. A pale mark is only proposed: Enter takes it. Another drawing may be dropped anywhere on this page.';
const NO_DRAWING = 'No outline can be shown; the notes below say why. Drop another drawing here, or take the last change back.';
const PROFILES = { machine: 'Machine', wheel: 'Wheel', steel: 'Steel', coolant: 'Coolant', fixture: 'Fixture' };

let shown = null;         // the last answer to "job"
let view = null;          // of the drawing, to turn places of the screen to mm
let edgePx = 1;           // px per mm of thickness in the view edge-on
let pending = null;       // marks that were moved and are not written yet
let pendingTimer = 0;
let waiting = null;       // a drawing whose name is taken
const refused = new Map(); // key to the reason why it was not written

const say = (words) => { by('said').textContent = words; };

// ---- asking the program ----

async function ask(path, options) {
  const answer = await fetch(path, { credentials: 'omit', cache: 'no-store', ...options });
  const type = answer.headers.get('Content-Type') ?? '';
  return { status: answer.status, body: type.startsWith('application/json') ? await answer.json() : await answer.text() };
}

function stopped(isStopped) {
  by('stopped').hidden = !isStopped;
}

async function askOrStop(path, options) {
  try {
    const answer = await ask(path, options);
    stopped(false);
    return answer;
  } catch {
    stopped(true);
    return null;
  }
}

async function refresh() {
  const answer = await askOrStop('job');
  if (answer?.status === 200) show(answer.body);
}

async function poll() {
  try {
    const answer = await askOrStop('state');
    if (answer?.status === 200 && answer.body.version !== shown?.version && !pending) await refresh();
    if (answer?.status === 200) await asks.look(answer.body);
  } finally {
    setTimeout(poll, document.hidden ? 5 * POLL_MS : POLL_MS);
  }
}

// ---- changing the job ----

async function change(changes, words) {
  const answer = await askOrStop('change', { method: 'POST', body: JSON.stringify({ changes }) });
  if (!answer) {
    notWritten(Object.keys(changes)[0], 'the program behind this page has stopped');
    return false;
  }
  for (const path of Object.keys(changes)) refused.delete(path);
  if (answer.status === 200) {
    show(answer.body);
    say(words);
    return true;
  }
  const findings = answer.body.findings ?? [{ text: String(answer.body), key: null }];
  for (const finding of findings) notWritten(finding.key ?? Object.keys(changes)[0], `${finding.key ? '' : `${finding.file ?? ''} `}${finding.text}`);
  return false;
}

// "is missing" follows the key on the terminal; beside its field it wants a subject of its own.
function notWritten(key, why) {
  refused.set(key, `Not written: ${why.replace(/^is\b/, 'it is')}`);
  say('Not written; the field says why.');
  show(shown);
}

function submit(path, value) {
  return change({ [path]: value }, value === null ? `${spoken(path)} is a note in job.cfg now.` : `${spoken(path)} is written into job.cfg.`);
}

// Rows of a list: what was wrong is said where they are changed.
async function writeRows(changes, words) {
  if (await change(changes, words)) return '';
  const wrong = [...refused].filter(([key]) => Object.keys(changes).some((path) => key.startsWith(path) || path.startsWith(key)));
  for (const [key] of wrong) refused.delete(key);
  return wrong.map(([, text]) => text).join(' ') || 'Not written.';
}

// ---- the marks ----

const isInch = () => /\bin$/.test(String(shown.job.values['outline.taper_start'].text?.[0] ?? '')) || (!shown.job.values['outline.taper_start'].text && shown.job.placement?.inch);
const isDown = () => shown.job.values['outline.points'].text === 'y down';

function lengthWords(mm) {
  return isInch() ? `${Number((mm / 25.4).toFixed(4))} in` : `${Number(mm.toFixed(2))} mm`;
}

const placeWords = (p) => [lengthWords(p[0]), lengthWords(isDown() ? -p[1] : p[1])];

// The ring that is cut: the one the job picked where it was understood, else the largest.
function ring() {
  const { drawing, values } = shown.job;
  const name = values['outline.pick'].text;
  return drawing.lines.find((line) => line.closed && name && line.name === name)?.points ?? ringFor(drawing);
}

// Where the job's start lies beside the steel, a place on it is proposed, which counts once it is taken or moved.
function axisNow(points) {
  const { drawing } = shown.job;
  if (pending) return pending;
  const way = drawing.by_point ? unit([drawing.towards[0] - drawing.start[0], drawing.towards[1] - drawing.start[1]]) : [Math.cos(drawing.angle_rad), Math.sin(drawing.angle_rad)];
  const cut = section(points, drawing.start, way);
  if (cut && cut.off < 1) return { start: drawing.start, towards: drawing.by_point ? drawing.towards : along(drawing.start, way, Math.max(reach(points, drawing.start, way), 10) * 0.85) };
  const middle = middleOf(points);
  return { ...middleLine(points, middle, tangWay(drawing, points, middle)), proposed: true };
}

function marksNow() {
  const points = ring();
  if (!points) return null;
  const { start, towards, proposed } = axisNow(points);
  const way = unit([towards[0] - start[0], towards[1] - start[1]]);
  return { start, towards, proposed, length: Math.max(reach(points, start, way), 10), width: section(points, start, way)?.width ?? 0, say: (p) => placeWords(p).join(', ') };
}

function writeMarks() {
  clearTimeout(pendingTimer);
  if (!pending) return;
  const { start, towards } = pending;
  const changes = { 'outline.taper_start': placeWords(start), 'outline.axis_towards': placeWords(towards) };
  if (shown.job.values['outline.axis_angle'].from === 'job') changes['outline.axis_angle'] = null;
  pending = null;
  change(changes, `The taper starts at ${placeWords(start).join(', ')}; written into job.cfg.`);
}

// Shown at once, written when the hand rests.
function move(start, towards, rest) {
  pending = { start, towards };
  showDrawing();
  clearTimeout(pendingTimer);
  pendingTimer = setTimeout(writeMarks, rest);
}

// Which way the tang runs from a place: as the job has it, else by the shape.
function wayFrom(points, place) {
  const now = axisNow(points);
  return now.proposed ? tangWay(shown.job.drawing, points, place) : unit([now.towards[0] - now.start[0], now.towards[1] - now.start[1]]);
}

function startAt(place) {
  const points = ring();
  if (!points) return;
  const way = wayFrom(points, place);
  const cut = section(points, place, way);
  if (!cut) { say('There is no steel across the tang at that place.'); return; }
  const line = middleLine(points, cut.middle, way);
  move(line.start, line.towards, 0);
}

function turnRound() {
  const points = ring(), marks = marksNow();
  if (!marks) return;
  const line = middleLine(points, marks.start, unit([marks.start[0] - marks.towards[0], marks.start[1] - marks.towards[1]]));
  move(line.start, line.towards, 0);
}

const ARROWS = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

function nudge(event) {
  const name = event.target.dataset?.handle, arrow = ARROWS[event.key];
  const marks = name ? marksNow() : null, points = ring();
  if (marks && event.key === 'Enter') move(marks.start, marks.towards, 0);
  if (!marks || !arrow) return;
  event.preventDefault();
  const way = unit([marks.towards[0] - marks.start[0], marks.towards[1] - marks.start[1]]);
  const lengthwise = Math.abs(arrow[0] * way[0] + arrow[1] * way[1]) > 0.7;
  const step = (lengthwise ? 0.5 : 0.1) * (event.shiftKey ? 10 : 1);
  let place = along(marks[name], arrow, step);
  if (lengthwise) place = section(points, place, way)?.middle ?? place;
  move(name === 'start' ? place : marks.start, name === 'towards' ? place : marks.towards, 500);
}

function placeOf(event) {
  const box = by('view').getBoundingClientRect();
  return view.mm(((event.clientX - box.left) * view.width) / box.width, ((event.clientY - box.top) * view.height) / box.height);
}

function drag(event) {
  const grabbed = event.target.closest?.('[data-handle]'), svg = by('view');
  delete svg.dataset.dragged; // the mark is drawn anew while it moves, so no click may have come of the drag before
  if (!grabbed) return;
  const name = grabbed.dataset.handle;
  event.preventDefault();
  grabbed.focus();
  let moved = false;
  const go = (e) => {
    const marks = marksNow(), place = placeOf(e);
    const way = unit([marks.towards[0] - marks.start[0], marks.towards[1] - marks.start[1]]);
    const snapped = section(ring(), place, way)?.middle ?? place;
    moved = true;
    move(name === 'start' ? snapped : marks.start, name === 'towards' ? snapped : marks.towards, 60000);
  };
  const end = () => {
    svg.removeEventListener('pointermove', go);
    if (moved) writeMarks();
  };
  svg.setPointerCapture(event.pointerId);
  svg.addEventListener('pointermove', go);
  svg.addEventListener('pointerup', end, { once: true });
  svg.addEventListener('pointercancel', end, { once: true });
  svg.dataset.dragged = '1';
}

// The butt is drawn thicker or thinner with the pointer, in the unit that its field has; it is written when it is let go.
function dragButt(event) {
  const { placement } = shown.job;
  if (!placement || !event.target.closest?.('.grip')) return;
  const svg = by('edge-view'), field = fieldsOf('taper.butt_thickness')[0];
  const inch = /in$/.test(field.control.value.trim());
  const from = event.clientY, was = placement.butt_mm, up = event.clientY <= svg.getBoundingClientRect().top + 46 ? 1 : -1;
  let now = was;
  event.preventDefault();
  const go = (e) => {
    const wanted = was + ((from - e.clientY) * up * 2) / edgePx;
    const step = inch ? 0.127 : 0.05;
    now = Math.min(Math.max(Math.round(wanted / step) * step, step), placement.ricasso_mm);
    field.control.value = inch ? `${(now / 25.4).toFixed(3)} in` : `${now.toFixed(2)} mm`;
    field.typing = true;
    drawEdge(svg, { ...placement, butt_mm: now }, by('edge').classList.contains('turned'));
  };
  const end = () => {
    svg.removeEventListener('pointermove', go);
    field.typing = false;
    if (now !== was) field.control.dispatchEvent(new Event('change'));
  };
  svg.setPointerCapture(event.pointerId);
  svg.addEventListener('pointermove', go);
  svg.addEventListener('pointerup', end, { once: true });
  svg.addEventListener('pointercancel', end, { once: true });
}

// ---- drawings ----

const WITHOUT_UNIT = /\.(csv|txt|xy|wkt|geojson|json)$/i;

const OF_THE_DRAWING = ['outline.unit', 'outline.pick', 'outline.askew'];

// What the job said of the drawing before becomes a note: its unit and its ring are not this one's, and an angle that was confirmed
// for one tang would pass unasked on another.
function takeDrawing(name, words) {
  const { values } = shown.job;
  const changes = { 'outline.file': name };
  if (name !== values['outline.file'].text) for (const path of OF_THE_DRAWING) if (values[path].from === 'job') changes[path] = null;
  const startStays = values['outline.taper_start'].from === 'job';
  return change(changes, `${words}${startStays ? ' See whether the taper still starts where it should.' : ''}`);
}

async function sendDrawing(file, replaces) {
  const answer = await askOrStop(`drawing/${replaces ? 'replace/' : ''}${encodeURIComponent(file.name)}`, { method: 'POST', body: file });
  if (!answer) return;
  waiting = answer.status === 409 ? file : null;
  by('replace').hidden = !waiting;
  if (waiting) {
    by('replace').firstElementChild.textContent = `${file.name} is in the folder already, with other contents.`;
    by('replace-yes').focus();
    return;
  }
  if (answer.status !== 200) { say(answer.body.findings?.map((f) => `${f.file ?? file.name} ${f.text}`).join(' ') ?? 'The drawing was refused.'); return; }
  show(answer.body);
  if (!shown.job) return;
  await takeDrawing(file.name, `${file.name} is in the folder, and the job names it.`);
  if (shown.job && asksForUnit()) say(`${file.name} is in the folder, and the job names it. How long is its unit?`);
  else if (shown.job && !shown.job.drawing) say(`${file.name} is in the folder and the job names it, but no outline can be read from it: the notes say why.`);
}

// ---- showing ----

function asksForUnit() {
  const { drawing, values } = shown.job;
  return !drawing && values['outline.unit'].from === 'default' && WITHOUT_UNIT.test(values['outline.file'].text ?? '');
}

function showDrawing() {
  const { drawing, placement } = shown.job;
  const side = document.querySelector('input[name="up"]:checked').value;
  const still = pending ? null : placement;
  by('view-box').hidden = !drawing;
  by('no-drawing').hidden = Boolean(drawing);
  by('turn').disabled = !drawing;
  by('how').hidden = !drawing;
  by('unit-ask').hidden = !asksForUnit();
  by('no-drawing').textContent = asksForUnit() ? 'The drawing is shown as soon as its unit is known.' : NO_DRAWING;
  by('along').classList.toggle('loose', !still); // the dimensions are those of the last answer
  if (!drawing) return;
  const names = outerNames(drawing), choices = !placement && !isPicked(names) && names.length > 1 ? names : [];
  by('how').textContent = choices.length ? 'The drawing holds several outlines: click the one that is meant, or choose it under Ring.' : HOW;
  by('turn').disabled = choices.length > 0;
  view = draw(by('view'), drawing, still, side, choices.length ? null : marksNow(), choices, lengthWords);
}

const isPicked = (names) => names.includes(shown.job.values['outline.pick'].text);

const shortLength = (mm) => (shown.job.placement?.inch ? `${(mm / 25.4).toFixed(2)} in` : `${mm.toFixed(1)} mm`);

const NUMBER_PX = 90;

// Each dimension stands under what it measures, as far as the screen is wide enough for its number.
function placeDimensions(placement, turned) {
  const [tip, start, butt] = [placement.tip, shown.job.drawing.start, placement.butt].map((p) => view.px(p)[0]);
  const ends = turned ? [butt, start, tip] : [tip, start, butt];
  const level = ends[1] >= ends[0] && ends[2] >= ends[1] && Math.abs(butt - start) > NUMBER_PX && view.width > 560;
  const dims = by('along');
  dims.classList.toggle('loose', isUpright(placement));
  if (level && Math.abs(start - tip) < NUMBER_PX) { // too short for its number
    by('dim-blade').hidden = true;
    ends[turned ? 2 : 0] = start;
  }
  dims.style.marginLeft = level ? `${ends[0]}px` : '0';
  dims.style.marginRight = level ? `${view.width - ends[2]}px` : '0';
  dims.style.gridTemplateColumns = by('dim-blade').hidden ? '1fr' : level ? `${ends[1] - ends[0]}fr ${ends[2] - ends[1]}fr` : '1fr 1fr';
  dims.append(...(turned ? [by('dim-tang'), by('dim-blade')] : [by('dim-blade'), by('dim-tang')]));
}

function showDimensions() {
  const { placement } = shown.job;
  const blade = by('dim-blade');
  by('edge-view').toggleAttribute('hidden', !placement);
  blade.hidden = !placement || placement.ahead_mm < 0.05;
  by('along').classList.toggle('loose', !placement);
  if (!placement) {
    for (const name of ['marginLeft', 'marginRight', 'gridTemplateColumns']) by('along').style[name] = '';
    return;
  }
  const turned = placement.butt[0] < placement.tip[0];
  placeDimensions(placement, turned);
  by('blade-out').textContent = shortLength(placement.ahead_mm);
  by('edge').classList.toggle('turned', turned);
  for (const field of fieldsOf('taper.length')) if (!field.control.value) field.control.placeholder = `${shortLength(placement.length_mm)}, to the end`;
  edgePx = drawEdge(by('edge-view'), placement, turned);
}

function showChoices() {
  const values = shown.job.values;
  const file = values['outline.file'].text ?? '';
  const list = shown.drawings.includes(file) || !file ? shown.drawings : [file, ...shown.drawings];
  by('drawings').replaceChildren(...(file ? [] : [element('option', { value: '' }, 'none yet')]), ...list.map((name) => element('option', { value: name }, name)));
  by('drawings').value = file;
  const names = shown.job.drawing ? outerNames(shown.job.drawing) : [];
  by('ring-choice').hidden = names.length < 2;
  const pick = values['outline.pick'].text ?? '';
  if (pick && !names.includes(pick)) names.push(pick);
  by('rings').replaceChildren(element('option', { value: '' }, names.length > 1 ? 'choose one' : 'the only one'), ...names.map((name) => element('option', { value: name }, name)));
  by('rings').value = pick;
  for (const kind of Object.keys(PROFILES)) {
    const named = values[`${kind}.profile`].text ?? '';
    const here = shown.profiles[kind].map((name) => `profiles/${kind}s/${name}`);
    const all = here.includes(named) || !named ? here : [named, ...here];
    if (kind === 'fixture' && shown.fixture && !all.includes('fixture/fixture.cfg')) all.push('fixture/fixture.cfg');
    for (const field of fieldsOf(`${kind}.profile`)) {
      field.control.replaceChildren(...(named ? [] : [element('option', { value: '' }, 'none yet')]), ...all.map((path) => element('option', { value: path }, path.replace(/^.*\//, '').replace(/\.cfg$/, ''))));
      field.control.value = named;
    }
  }
}

function stopButtons() {
  const out = element('button', { type: 'button' }, 'Take the stops out of the job');
  out.addEventListener('click', () => change({ 'fixture.keep_outs': null }, 'The stops are notes in job.cfg now; tangwright fixture designs others.'));
  const design = element('button', { type: 'button' }, 'Design a fixture for this blank');
  design.addEventListener('click', asks.design);
  return shown.job.values['fixture.keep_outs'].from === 'job' ? [out, ' ', design] : [design];
}

// Stops of another blank, a rest ground for another taper, fewer stations than parts: a fixture that is designed anew mends each.
function wantsFixture(finding) {
  return finding.fault && (finding.key?.startsWith('fixture.keep_outs') || (finding.key === 'parts' && finding.text.includes('stations')));
}

// Where a value of a profile is at fault, another profile is chosen; a key of the job, or one that overrides, is changed itself.
function fieldOf(finding) {
  const kind = finding.key?.split('.')[0];
  if (PROFILES[kind] && finding.file && !finding.file.endsWith('job.cfg')) return fieldsOf(`${kind}.profile`)[0];
  return fieldsOf(finding.key).find((field) => field.place !== 'all') ?? fieldsOf(finding.key)[0];
}

// The stops of a job that was begun here are those of its own drawing.
function stopsMiss() {
  const placement = shown.job?.placement;
  const stops = ['side_a', 'side_b'].map((side) => (placement?.[side] ?? []).filter((piece) => piece.stop));
  return stops.some((side) => side.length > 0 && side.every((piece) => piece.meeting === 'misses'));
}

function showNotes() {
  const { findings } = shown;
  const lastOfFixture = findings.filter(wantsFixture).at(-1);
  const items = findings.map((finding) => {
    const of = rowOf(finding.key) ? `, ${spoken(finding.key)}` : '';
    const item = element('li', {}, element('span', { class: finding.fault ? 'bad' : '' }, `${finding.fault ? 'Fault' : 'Note'}${of}: `), finding.text, ' ');
    const where = [finding.file, finding.line > 0 ? `line ${finding.line}` : ''].filter(Boolean).join(', ');
    item.append(element('small', {}, where));
    const field = finding.fault && finding.key && !finding.key.startsWith('fixture.keep_outs') ? fieldOf(finding) : null;
    if (field) {
      const go = element('button', { type: 'button' }, `To ${spoken(field.path)}`);
      go.addEventListener('click', () => { field.control.closest('details')?.setAttribute('open', ''); field.control.focus(); });
      item.append(' ', go);
    }
    if (finding === lastOfFixture) item.append(' ', ...stopButtons());
    return item;
  });
  if (stopsMiss()) items.push(element('li', {}, 'Note: no stop touches this blank; the stops may be those of another. ', ...stopButtons()));
  by('note-list').replaceChildren(...items);
  by('notes').hidden = items.length === 0;
  const faults = findings.filter((f) => f.fault).length;
  const checked = by('checked');
  checked.className = `answer ${faults ? 'bad' : 'good'}`;
  checked.replaceChildren(faults ? element('a', { href: '#notes' }, `${faults} ${faults === 1 ? 'fault' : 'faults'}: see the notes`) : 'no fault found');
}

// "  tip            left in the drawing": a name in 16 columns, and further lines without one.
function showLies() {
  const { placement } = shown.job;
  by('lies').hidden = !placement?.words.length;
  if (by('lies').hidden) return;
  const rows = [];
  for (const line of placement.words) {
    const name = line.slice(2, 17).trim(), text = line.slice(17).trim();
    if (!line.startsWith('  ')) continue;
    if (name) rows.push([name, text]);
    else if (rows.length) rows.at(-1)[1] += `\n${text}`;
  }
  by('lies-list').replaceChildren(...rows.flatMap(([name, text]) => [element('dt', {}, name), element('dd', {}, text)]));
}

function show(answer) {
  const isUnread = shown?.there && !shown.job;
  shown = answer;
  for (const id of ['plan', 'block', 'all', 'variants', 'programs', 'fixtures']) by(id).hidden = !answer.job;
  by('empty').hidden = answer.there;
  by('lies').hidden = !answer.job;
  by('undo').disabled = !answer.undo;
  showNotes();
  if (!answer.job) {
    by('title').textContent = 'Bench';
    say(answer.there ? 'The job file cannot be read as it stands. Correct it in a text editor, and the page goes on.' : '');
    asks.show();
    return;
  }
  if (isUnread) say('');
  const name = answer.job.values.name.text ?? 'a job without a name';
  by('title').textContent = name;
  document.title = `${name} – bench`;
  showChoices();
  showValues(answer.job.values, answer.findings, refused);
  showLists(answer.job.values);
  showDrawing();
  showDimensions();
  showLies();
  asks.show();
  asks.planIfNew();
}

// ---- the sheet ----

function addCell(size, fill) {
  const cell = element('div', { class: `cell ${size}` });
  fill(cell);
  by('cells').append(cell);
}

function buildBlock() {
  const field = (path, words, size = '') => addCell(size, (cell) => addField(cell, 'block', path, words, submit));
  field('name', 'Job', 'wide');
  field('parts', 'Parts on the fixture', 'narrow');
  addCell('third', (cell) => cell.append(element('span', { class: 'label' }, 'Check'), element('p', { class: 'answer', id: 'checked' })));
  for (const [kind, words] of Object.entries(PROFILES)) addCell('', (cell) => addChoice(cell, 'block', `${kind}.profile`, words, submit));
  field('mount', 'Mount');
  field('order', 'Order of the sides', 'long');
  field('heat.tempering_temperature', 'Your last tempering');
  field('heat.flash_limit', 'Limit for the flash');
  field('wheel.diameter', 'Wheel diameter, as it is now');
  field('taper.thickness_band', 'Blanks may differ by');
  field('taper.smallest_thickness', 'Nowhere thinner than');
  field('finish.flatness', 'Flatness');
  field('finish.layers', 'Finishing layers');
  field('finish.spark_out', 'Spark-outs');
  field('fixture.packing', 'Packing under the tang', 'long');
  const answer = (id, words, size = '') => addCell(`answers ${size}`, (cell) => cell.append(element('label', { for: id }, words), element('output', { id })));
  answer('out-passes', 'Passes');
  answer('out-time', 'Time for one part');
  answer('out-peak', 'Hottest, estimated');
  answer('out-off', 'Taken off a part');
  answer('out-cost', 'A limit a tenth looser would save', 'wide beside');
  answer('out-knife', 'Knife, and where it balances', 'wide');
  addCell('answers whole', (cell) => cell.append(
    element('p', { id: 'plan-state' }, element('span', { id: 'plan-words' }), ' ', element('button', { type: 'button', id: 'plan-stop', hidden: '' }, 'Stop'), element('button', { type: 'button', id: 'plan-again', hidden: '' }, 'Plan again'), ' ',
      element('a', { id: 'plan-sheet', href: 'sheet/answer-preview', target: '_blank', rel: 'noopener', hidden: '' }, 'The whole of it, with the path of the wheel, the view from the spine and the temperatures')),
    element('ul', { id: 'plan-notes' })));
}

function buildDimensions() {
  const box = (id, parent, path, words) => {
    const dim = element('div', { class: 'dimension', id });
    if (path) addField(dim, 'drawn', path, words, submit);
    else dim.append(element('label', { for: 'blade-out' }, words), element('output', { id: 'blade-out' }));
    by(parent).append(dim);
  };
  box('dim-blade', 'along', null, 'ahead of the taper start');
  box('dim-tang', 'along', 'taper.length', 'length of the taper');
  box('dim-front', 'edge-front', 'taper.ricasso_thickness', 'ricasso');
  box('dim-butt', 'edge-butt', 'taper.butt_thickness', 'butt');
}

function listen() {
  const svg = by('view');
  svg.addEventListener('pointerdown', drag);
  svg.addEventListener('keydown', nudge);
  svg.addEventListener('click', (event) => {
    const ringName = event.target.dataset?.ring;
    const dragged = svg.dataset.dragged;
    delete svg.dataset.dragged;
    if (dragged) return;
    if (ringName) submit('outline.pick', ringName);
    else startAt(placeOf(event));
  });
  svg.addEventListener('keydown', (event) => {
    if ((event.key === 'Enter' || event.key === ' ') && event.target.dataset?.ring) {
      event.preventDefault();
      submit('outline.pick', event.target.dataset.ring);
    }
  });
  by('edge-view').addEventListener('pointerdown', dragButt);
  by('undo').addEventListener('click', async () => {
    const answer = await askOrStop('undo', { method: 'POST' });
    if (answer?.status === 200) { refused.clear(); show(answer.body); say('The last change is taken back.'); } else if (answer) { say(answer.body.findings.map((f) => f.text).join(' ')); await refresh(); }
  });
  by('turn').addEventListener('click', turnRound);
  for (const button of by('unit-ask').querySelectorAll('button')) button.addEventListener('click', () => submit('outline.unit', button.dataset.unit));
  by('rings').addEventListener('change', () => submit('outline.pick', by('rings').value || null));
  by('drawings').addEventListener('change', () => takeDrawing(by('drawings').value, `The job names ${by('drawings').value} now.`));
  by('file').addEventListener('change', () => { if (by('file').files[0]) sendDrawing(by('file').files[0], false); by('file').value = ''; });
  by('replace-yes').addEventListener('click', () => sendDrawing(waiting, true));
  by('replace-no').addEventListener('click', () => { waiting = null; by('replace').hidden = true; });
  by('begin').addEventListener('click', async () => {
    const answer = await askOrStop('begin', { method: 'POST' });
    if (answer?.status === 200) show(answer.body);
    else if (answer) say(answer.body.findings.map((f) => f.text).join(' '));
  });
  for (const radio of document.querySelectorAll('input[name="up"]')) radio.addEventListener('change', showDrawing);
  document.addEventListener('dragover', (event) => { event.preventDefault(); document.body.classList.add('over'); });
  document.addEventListener('dragleave', () => document.body.classList.remove('over'));
  document.addEventListener('drop', (event) => {
    event.preventDefault();
    document.body.classList.remove('over');
    if (event.dataTransfer.files[0]) sendDrawing(event.dataTransfer.files[0], false);
  });
  window.addEventListener('resize', () => { if (shown?.job) { showDrawing(); showDimensions(); } });
}

async function start() {
  const answer = await askOrStop('keys');
  if (answer?.status !== 200) return;
  takeKeys(answer.body);
  buildDimensions();
  buildBlock();
  buildGroups(by('groups'), submit, writeRows);
  listen();
  asks.build({ ask: askOrStop, change, refresh, wantsFixture, job: () => shown });
  await refresh();
  asks.showVaried();
  setTimeout(poll, POLL_MS);
}

start();
