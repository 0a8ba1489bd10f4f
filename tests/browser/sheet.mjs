// Looks at setup sheets in a browser, as a person would, and prints one line for each fault found.
//
//     node sheet.mjs whole FOLDER ... brief FOLDER ... fonts FOLDER
//
// Each FOLDER holds setup.html or run.html, summary.json and the programs. Those behind "whole" are asked everything; "brief"
// leaves out the accessibility checker, the run without scripts, and paper in other fonts than the page's own; "fonts" looks at one as machines with other fonts
// show it. Ends with 1 when there was a fault.
import { createRequire } from 'node:module';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { execFileSync } from 'node:child_process';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { checkAccessibility } from './access.mjs';
import { FAMILIES, KEEP_CANVAS_LABELS, PAPERS, checkLooks, machines, missingFamilies, paperInPx, useFamily } from './looks.mjs';

const require = createRequire(import.meta.url);
const { chromium } = require('playwright-core');
const { HtmlValidate } = require('html-validate');

// The annex tells of wear and of what the thickness may be off by, too; what lies beside the machine comes before it. By the number of
// programs.
const MOST_PAGES = { 1: 12, 2: 16, 4: 18, 6: 20 };
const MACHINE_PAGES = 2;
const WITH_ANOTHER_WHEEL = 3; // a relief's own wheel has a row, a rim to look at and programs of its own

const validator = new HtmlValidate({
  extends: ['html-validate:standard'],
  rules: {
    'void-style': ['error', { style: 'selfclosing' }], // the page is XML, too
    'no-inline-style': 'off',
    'long-title': 'off',
    'prefer-native-element': 'off', // role="region" on a scrolling box, role="img" on drawings
    'element-required-attributes': 'error',
  },
});

let faults = 0;
let where = '';

function complain(what) {
  console.log(`${where}: ${what}`);
  faults += 1;
}

// ---- without a browser ----

async function checkMarkup(file) {
  const report = await validator.validateFile(file);
  for (const result of report.results)
    for (const message of result.messages.slice(0, 8))
      complain(`not valid HTML, line ${message.line}: ${message.message} (${message.ruleId})`);
}

// ---- figures ----

function lookUp(summary, key) {
  return key.split('.').reduce((value, name) => (value === undefined ? undefined : value[name]), summary);
}

function shownNumber(text) {
  const duration = /^(?:(\d+)\sh\s)?(?:(\d+)\smin)?\s?(?:(\d+)\ss)?/.exec(text);
  if (duration[0].trim()) {
    const [, h = 0, min = 0, s] = duration;
    return { value: Number(h) * 3600 + Number(min) * 60 + Number(s ?? 0), step: s === undefined ? 60 : 1 };
  }
  const plain = /^-?\d+(?:\.(\d+))?/.exec(text);
  return plain ? { value: Number(plain[0]), step: 10 ** -(plain[1] ?? '').length } : null;
}

// Numbers are shown in the page's first unit; what turns the exact one into it.
function inFirstUnit(key, text, value) {
  if (key === 'removed_mm3') return /^[\d.]+ in³/.test(text) ? value / 25.4 ** 3 : value * 1e-3; // the unit that is shown first
  if (/^-?[\d.]+\s(in|thou)\b/.test(text)) return value / 25.4;
  return /^-?\d+ °F/.test(text) ? value * 1.8 + 32 : value;
}

async function checkFigures(page, summary) {
  const values = await page.$$eval('data[data-key]', (all) =>
    all.map((e) => [e.dataset.key, e.value, e.textContent.replace(/\u00a0/g, ' ')]));
  if (values.length < 40) complain(`only ${values.length} figures carry their key`);
  for (const [key, value, text] of values) {
    const expected = lookUp(summary, key);
    if (typeof expected !== 'number') { complain(`${key} is not in summary.json`); continue; }
    if (Math.abs(Number(value) - expected) > 1e-8 * Math.abs(expected) + 1e-12) complain(`${key} is ${value}, summary.json has ${expected}`);
    if (text === 'none') { if (expected !== 0) complain(`${key} is shown as none`); continue; }
    const shown = shownNumber(text);
    if (!shown) complain(`${key} is shown as "${text}", no number`);
    else if (Math.abs(shown.value - inFirstUnit(key, text, expected)) > shown.step * 0.501) complain(`${key} is shown as "${text}" for ${expected}`);
  }
}

// ---- the slider ----

async function stateOf(page) {
  return page.evaluate(() => ({
    picture: document.querySelector('#play-draw canvas').toDataURL(),
    line: document.querySelector('#play-lines .now')?.textContent ?? '',
    time: Number(document.getElementById('play-time').value),
  }));
}

function checkLine(line, program) {
  const [, number, text] = /^(\d+) {2}(.*)$/.exec(line) ?? [];
  if (program[Number(number) - 1] !== text) complain(`shows line ${number} as "${text}", the program says "${program[Number(number) - 1]}"`);
}

async function checkSlider(page, folder, summary) {
  const program = readFileSync(join(folder, summary.setups[0].program), 'latin1').split(/\r?\n/);
  const before = await stateOf(page);
  await page.focus('#play-on');
  await page.keyboard.press('Enter');
  const stepped = await stateOf(page);
  await page.keyboard.press('Enter');
  const twice = await stateOf(page);
  await page.focus('#play-time');
  await page.keyboard.press('ArrowRight');
  const moved = await stateOf(page);
  await page.evaluate(() => { const r = document.getElementById('play-time'); r.value = r.max; r.dispatchEvent(new Event('input')); });
  const end = await stateOf(page);
  const left = await page.textContent('#play-left');
  const words = await page.textContent('#play-pass');

  if (!(stepped.time > before.time && twice.time > stepped.time && moved.time > twice.time)) complain('keys do not move the time on');
  if (before.picture === stepped.picture || stepped.picture === twice.picture || twice.picture === end.picture) complain('the picture does not follow the slider');
  if (before.line === stepped.line || stepped.line === twice.line) complain('the line of the program does not follow the slider');
  for (const state of [before, stepped, twice, end]) checkLine(state.line, program);
  const planned = summary.setups[0].travel_style === 'loops' ? '\\d+' : summary.setups[0].pass_count;
  if (!new RegExp(`^${planned} of ${planned}\\b`).test(words)) complain(`at the end it says pass ${words}`);
  // All that was to come off has come off, to what the script's cells of 1 mm can tell: 10 um, or 0.0004 in.
  if (Math.abs(parseFloat(left)) > (/in$/.test(left) ? 0.0008 : 0.02)) complain(`at the end ${left} is still left`);
  await page.locator('input[name="play-side"]').nth(1).check();
  if ((await stateOf(page)).time !== 0) complain('the other side does not begin at its start');
}

// ---- paper ----

// The words of each page, which pdftotext ends with a form feed.
function pagesOf(pdf) {
  return execFileSync('pdftotext', ['-layout', pdf, '-'], { encoding: 'utf8', maxBuffer: 1 << 26 }).split('\f').slice(0, -1);
}

function wordsOf(text) {
  return text.replace(/\s+/g, ' ').trim();
}

// What stands above something else: headings and captions, and the words in the heads of tables, which come out in several lines.
async function headsOf(page) {
  const texts = await page.$$eval('h2, h3, caption, .annex', (all) => all.map((e) => e.textContent));
  const columns = await page.$$eval('thead th', (all) => all.map((e) => e.textContent));
  return { texts: new Set(texts.map(wordsOf)), columns: new Set(wordsOf(columns.join(' ')).split(' ')) };
}

// A heading, or a table's head, with nothing below it.
function strandedOn(text, heads) {
  const lines = text.split('\n').map(wordsOf).filter((line) => line && !/inputs .* page \d+ of/.test(line));
  for (let i = lines.length - 1; i >= Math.max(0, lines.length - 6); i -= 1) {
    const below = lines.slice(i + 1).join(' ').split(' ').filter((word) => word && !heads.columns.has(word));
    if (heads.texts.has(lines[i]) && below.length === 0) return lines[i];
  }
  return null;
}

// What lies beside the machine ends where the wheel's state is told, or, without that, at the annex.
function machinePagesOf(pages) {
  const begins = /^\s*(The state of the wheel$|Annex: )/;
  const at = pages.findIndex((text) => text.split('\n').some((line) => begins.test(line)));
  return begins.test(pages[at]?.split('\n').find((line) => line.trim())) ? at : at + 1;
}

function takesAnotherWheel(summary) {
  return summary.setups.some((setup) => setup.wheel_m_per_s !== summary.setups[0].wheel_m_per_s);
}

async function checkPaper(page, name, work, summary) {
  const [wide, high] = paperInPx(name);
  const pdf = join(work, `${name}.pdf`);

  await page.emulateMedia({ media: 'print' });
  await page.setViewportSize({ width: wide, height: high });
  for (const [id, height] of await page.$$eval('figure', (all) => all.map((f) => [f.id, f.getBoundingClientRect().height])))
    if (height > high) complain(`${id} is ${Math.round(height)} px high and would be cut by the end of a page of ${name}`);
  if (await page.isVisible('#play')) complain('the player is printed');
  await page.emulateMedia({ media: null });
  await page.pdf({ path: pdf, format: name, printBackground: false });
  const pages = pagesOf(pdf);
  const sheets = await page.$$eval('section.sheet', (all) => all.length);
  const most = MOST_PAGES[summary.setups.length];
  if (pages.length < sheets + 1 || pages.length > most) complain(`${pages.length} pages of ${name}; ${sheets + 1} to ${most} expected`);
  const machine = machinePagesOf(pages), expected = takesAnotherWheel(summary) ? WITH_ANOTHER_WHEEL : MACHINE_PAGES;
  if (machine < 1 || machine > expected) complain(`${machine} pages of ${name} for the machine; ${expected} expected`);
  const heads = await headsOf(page);
  pages.map((text) => strandedOn(text, heads)).forEach((head, i) => {
    if (head) complain(`at the foot of page ${i + 1} of ${name} "${head}" has nothing below it`);
  });
  pages.forEach((text, i) => {
    if (!text.includes(`page ${i + 1} of ${pages.length}`) || !text.includes(summary.inputs)) complain(`page ${i + 1} of ${name} does not say which sheet it belongs to`);
    if (text.replace(/^.*inputs .*$/m, '').replace(/\s/g, '').length < 150 || /^\s*Written by/.test(text)) complain(`page ${i + 1} of ${name} is all but empty`);
  });
}

// ---- one sheet ----

function fileOf(folder) {
  return join(folder, existsSync(join(folder, 'run.html')) ? 'run.html' : 'setup.html');
}

async function open(browser, file, options) {
  const context = await browser.newContext({ viewport: { width: 820, height: 900 }, offline: true, ...options });
  const page = await context.newPage();
  page.on('console', (message) => complain(`the console says: ${message.text()}`));
  page.on('pageerror', (error) => complain(`script error: ${error.message}`));
  page.on('request', (request) => { if (!/^(file|data):/.test(request.url()) || (request.url().startsWith('file:') && !request.url().endsWith('.html'))) complain(`asks for ${request.url()}`); });
  await page.addInitScript(KEEP_CANVAS_LABELS);
  await page.goto(`file://${resolve(file)}`);
  return page;
}

async function checkAccess(page, colorScheme, width, of) {
  await page.emulateMedia({ colorScheme });
  await page.setViewportSize({ width, height: 900 });
  await checkAccessibility(page, of, (what) => complain(`${colorScheme}, ${width} px: ${what}`));
}

async function checkWithoutScripts(browser, file) {
  const page = await open(browser, file, { javaScriptEnabled: false });
  const sections = await page.locator('main > section').all();
  for (const section of sections) {
    const id = await section.getAttribute('id');
    const box = await section.boundingBox();
    if ((id === 'play') !== (box === null)) complain(`without scripts ${id} is ${box === null ? 'not ' : ''}shown`);
  }
  await page.context().close();
}

async function checkFamilies(page, name, work, summary) {
  for (const what of await missingFamilies(page)) complain(`the font family "${what}" is not installed`);
  // What fits in the wider family fits in the narrower one, all but always: both on sheets that are looked at whole.
  for (const family of name === 'whole' ? Object.values(FAMILIES) : [FAMILIES.wide]) {
    await checkLooks(page, family, complain);
    if (name === 'whole') for (const paper of Object.keys(PAPERS)) await checkPaper(page, paper, work, summary);
  }
  await useFamily(page, null);
  for (const paper of Object.keys(PAPERS)) await checkPaper(page, paper, work, summary);
}

async function checkSheet(browser, folder, mode, work) {
  const file = fileOf(folder);
  const summary = JSON.parse(readFileSync(join(folder, 'summary.json'), 'utf8'));

  where = file;
  await checkMarkup(file);
  const page = await open(browser, file, {});
  await checkFigures(page, summary);
  await checkSlider(page, folder, summary);
  await checkFamilies(page, mode, work, summary);
  if (mode === 'whole') {
    await checkLooks(page, null, complain);
    await checkAccess(page, 'light', 820, 'all');
    await checkAccess(page, 'dark', 360, 'looks');
    await checkWithoutScripts(browser, file);
  }
  await page.context().close();
}

// ---- all of them ----

async function withBrowser(environment, use) {
  const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'], env: { ...process.env, ...environment } });
  try {
    await use(browser);
  } finally {
    await browser.close();
  }
}

// The page's own choice of family, on machines with other fonts than this one.
async function checkMachine(browser, machine, folder) {
  where = `${fileOf(folder)}, ${machine}`;
  const page = await open(browser, fileOf(folder), {});
  await checkLooks(page, null, complain);
}

const asked = { whole: [], brief: [], fonts: [] };
process.argv.slice(2).reduce((list, word) => {
  if (asked[word]) return asked[word];
  list.push(word);
  return list;
}, asked.whole);
const work = mkdtempSync(join(tmpdir(), 'tangwright-browser-'));
try {
  await withBrowser({}, async (browser) => {
    for (const folder of asked.whole) await checkSheet(browser, folder, 'whole', work);
    for (const folder of asked.brief) await checkSheet(browser, folder, 'brief', work);
  });
  for (const { name, environment } of asked.fonts.length > 0 ? machines(work) : [])
    await withBrowser(environment, (browser) => checkMachine(browser, name, asked.fonts[0]));
} finally {
  rmSync(work, { recursive: true });
}
process.exit(faults > 0 ? 1 : 0);
