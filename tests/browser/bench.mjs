// Works on a job with the bench page, once by pointer and once by keyboard, as a maker would, and prints one line for each fault.
//
//     node bench.mjs PROGRAM WORK
//
// PROGRAM is tangwright, WORK an empty folder for what is made. Ends with 1 when there was a fault.
import { createRequire } from 'node:module';
import { execFileSync, spawn } from 'node:child_process';
import { appendFileSync, mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { checkAccessibility } from './access.mjs';

const require = createRequire(import.meta.url);
const { chromium } = require('playwright-core');

const [program, work] = process.argv.slice(2);
const LONG_MS = 90000; // on a machine that has much else to do
const EVERY_MS = 100; // asked at every frame, as a browser would by itself, it does little else but draw the page that waits
const DRAWING = 'samples/santoku-170/knife.svg';
let faults = 0;
let where = '';

function complain(what) {
  console.log(`${where}: ${what}`);
  faults += 1;
}

// ---- the program ----

const children = [];

async function serve(folder) {
  mkdirSync(folder, { recursive: true });
  const child = spawn(program, ['bench', folder, '--no-browser'], { stdio: ['ignore', 'pipe', 'inherit'] });
  children.push(child);
  const address = await new Promise((resolve, reject) => {
    child.stdout.once('data', (data) => resolve(String(data).trim()));
    child.once('exit', () => reject(new Error('bench ended at once')));
  });
  return { folder, child, address, end: () => new Promise((resolve) => { child.once('exit', (code) => resolve(code)); child.kill('SIGTERM'); }) };
}

const job = (bench) => readFileSync(join(bench.folder, 'job.cfg'), 'utf8');
const check = (bench) => JSON.parse(execFileSync(program, ['check', join(bench.folder, 'job.cfg'), '--json', '-'], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] }));

// ---- the page ----

async function open(browser, bench, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1180, height: 900 }, ...options });
  const page = await context.newPage();
  page.on('console', (message) => { if (!/status of 4(09|22)|ERR_CONNECTION_REFUSED/.test(message.text())) complain(`the console says: ${message.text()}`); });
  page.on('pageerror', (error) => complain(`script error: ${error.message}`));
  page.on('request', (request) => { if (!request.url().startsWith(bench.address) && !request.url().startsWith('data:')) complain(`asks for ${request.url()}`); });
  await page.goto(bench.address);
  return page;
}

const said = (page, words) => page.waitForFunction((wanted) => document.getElementById('said').textContent.includes(wanted), words, { timeout: LONG_MS, polling: EVERY_MS }).catch(() => complain(`it never says "${words}"`));

async function access(page, colorScheme, width, of) {
  where = `${colorScheme}, ${width} px`;
  await page.emulateMedia({ colorScheme });
  await page.setViewportSize({ width, height: 900 });
  for (const details of await page.locator('details').all()) await details.evaluate((e) => e.setAttribute('open', ''));
  await checkAccessibility(page, of, complain);
  const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  if (over > 0) complain(`the page is ${over} px wider than the window`);
}

// A measured blank that is not much thicker than it shall be, as an editor writes it: planned and proved on that one alone and in
// few layers, where neither is the question.
async function measured(page, bench) {
  writeFileSync(join(bench.folder, 'job.cfg'), job(bench).replace('thickness_band = "0.05 mm"', 'thickness_band = "0 mm"').replace('ricasso_thickness = "3.2 mm"', 'ricasso_thickness = "2.4 mm"'));
  if (!job(bench).includes('"0 mm"') || !job(bench).includes('"2.4 mm"')) complain('the starter has another band, or another ricasso');
  await page.reload();
  await page.waitForSelector('#view .tang');
}

// ---- a job by pointer ----

function expectPlaced(bench) {
  const answer = check(bench);
  if (answer.off_middle > 0.02) complain(`the taper starts ${answer.off_middle} of the width beside the middle`);
  if (Math.abs(answer.askew_rad) > 0.05) complain(`the axis runs ${answer.askew_rad} rad askew to the tang's middle`);
  if (Math.abs(answer.behind_mm - 108) > 8) complain(`${answer.behind_mm} mm of tang where some 108 were meant`);
}

function expectJob(bench, wanted) {
  const text = job(bench);
  for (const line of wanted) if (!text.includes(line)) complain(`job.cfg does not hold "${line}"`);
  for (const note of ['# as the back end shall be; about half is usual', '# ---- weight and balance']) if (!text.includes(note)) complain(`the note "${note}" is lost`);
}

async function byPointer(browser, bench) {
  where = 'by pointer';
  const page = await open(browser, bench);
  await page.click('#begin');
  await page.waitForSelector('#view .tang');
  await measured(page, bench);
  await page.setInputFiles('#file', { name: 'note.txt.exe', mimeType: 'text/plain', buffer: Buffer.from('x') });
  await said(page, 'note.txt.exe is no drawing');
  await page.setInputFiles('#file', { name: 'torn.svg', mimeType: 'image/svg+xml', buffer: Buffer.from('<svg><path d="M0') });
  await said(page, 'no outline can be read from it');
  if (!(await page.isVisible('#no-drawing'))) complain('in place of a torn drawing nothing is said');
  await page.setInputFiles('#file', DRAWING);
  await said(page, 'knife.svg is in the folder, and the job names it');
  const box = await page.locator('#view').boundingBox();
  await page.mouse.click(box.x + box.width * 0.625, box.y + box.height * 0.3);
  await said(page, 'The taper starts at');
  await page.click('#note-list >> text=Design a fixture for this blank');
  await said(page, 'fixture is designed');
  if ((await page.textContent('#checked')) !== 'no fault found') complain(`the check says "${await page.textContent('#checked')}"`);
  expectPlaced(bench);
  await page.fill('#drawn-taper-butt_thickness', '2.2');
  await page.click('#block-h');
  await said(page, 'Not written');
  if (job(bench).includes('2.2')) complain('a size without a unit is written');
  await page.fill('#drawn-taper-butt_thickness', '2.2 mm');
  await page.click('#block-h');
  await said(page, 'butt thickness is written');
  await page.locator('#edge-view').scrollIntoViewIfNeeded();
  const grip = await page.locator('#edge-view .grip path').boundingBox();
  await page.mouse.move(grip.x + grip.width / 2, grip.y + 3);
  await page.mouse.down();
  await page.mouse.move(grip.x + grip.width / 2, grip.y + 9, { steps: 3 });
  await page.mouse.up();
  await page.waitForFunction(() => document.getElementById('undo').disabled === false, null, { polling: EVERY_MS });
  await page.waitForFunction(() => /^(1\.\d|2\.[01])\d mm$/.test(document.getElementById('drawn-taper-butt_thickness').value), null, { polling: EVERY_MS });
  await page.waitForTimeout(300);
  if (!/butt_thickness = "(1\.\d|2\.[01])\d mm"/.test(job(bench))) complain('the butt drawn thinner is not written');
  await page.click('#undo');
  await said(page, 'is taken back');
  if (!job(bench).includes('butt_thickness = "2.2 mm"')) complain('the butt is not as it was');
  await page.selectOption('#block-mount', 'level');
  await said(page, 'mount is written');
  await page.click('#undo');
  await said(page, 'is taken back');
  expectJob(bench, ['butt_thickness = "2.2 mm";              # as', 'mount = "tilted";', 'file = "knife.svg";', 'profile = "fixture/fixture.cfg";', '# keep_outs = (']);
  const list = await page.evaluate(() => [...document.querySelectorAll('.key.list')].map((key) => key.textContent).find((words) => words.startsWith('keep outs')));
  if (!/the profile of the fixture, line \d+.*line \d+: name /.test(list)) complain(`of the stops it says "${list}"`);
  return page;
}

// ---- plan, variants, programs ----

const text = (page, selector) => page.textContent(selector);
const settled = (page, selector, wanted) => page.waitForFunction(([s, w]) => document.querySelector(s).textContent.includes(w), [selector, wanted], { timeout: LONG_MS, polling: EVERY_MS });

async function shownPlan(page) {
  await settled(page, '#plan-words', 'planned and proved');
  return { passes: await text(page, '#out-passes'), peak: await text(page, '#out-peak') };
}

// The command line gives the same figures and the same files, to the byte. The sheet with the dry-run's answer takes a plan of its
// own, so it is asked for once.
function expectPrograms(bench, shown, withSheet) {
  const mine = join(bench.folder, 'programs'), other = `${bench.folder}-by-hand`;
  const jobFile = join(bench.folder, 'job.cfg');
  const quiet = { stdio: 'ignore' };
  execFileSync(program, ['plan', jobFile, '--out', other], quiet);
  const cards = readdirSync(other).filter((name) => /^side-.*\.nc$/.test(name)).map((name) => join(other, name));
  if (withSheet) execFileSync(program, ['dry-run', jobFile, ...cards, '--sheet', join(other, 'setup.html')], quiet);
  const summary = JSON.parse(readFileSync(join(other, 'summary.json'), 'utf8'));
  if (shown.passes !== String(summary.pass_count)) complain(`${shown.passes} passes are shown, plan says ${summary.pass_count}`);
  if (!shown.peak.includes(`${Math.round(summary.peak_degC)}\u00a0\u00b0C`)) complain(`the hottest is shown as ${shown.peak}, plan says ${summary.peak_degC}`);
  const names = readdirSync(other).sort();
  if (readdirSync(mine).sort().join() !== names.join()) complain(`programs holds ${readdirSync(mine)}, the command line writes ${names}`);
  for (const name of names.filter((file) => withSheet || file !== 'setup.html'))
    if (!readFileSync(join(mine, name)).equals(readFileSync(join(other, name)))) complain(`${name} differs from what the command line writes`);
}

async function expectSheet(page, address) {
  const sheet = await page.context().newPage();
  sheet.on('console', (message) => complain(`the sheet's console says: ${message.text()}`));
  await sheet.goto(address);
  await sheet.waitForSelector('#play:visible', { timeout: 8000 }).catch(() => complain('the sheet does not play'));
  if (await sheet.evaluate(() => window.origin) !== 'null') complain('the sheet is not in a box of its own');
  await sheet.close();
}

// The player and the maps stand in the page itself, and nothing else of their sheet.
async function expectInside(page, id, wanted) {
  await page.click(`${id} summary`);
  const sheet = page.frameLocator(`${id} iframe`);
  await sheet.locator(wanted).first().waitFor({ state: 'visible', timeout: LONG_MS }).catch(() => complain(`${wanted} is not shown in ${id}`));
  if (await sheet.locator('#steps').isVisible()) complain(`${id} shows more of the sheet than was asked`);
}

async function expectVariants(page) {
  await page.waitForSelector('#vary-table tbody tr', { timeout: LONG_MS });
  if ((await page.locator('#vary-table thead th').count()) !== 2) complain('there are not two variants');
  if (!(await text(page, '#vary-table thead')).includes('cup-alumina-100')) complain('the other wheel is not named');
}

async function expectVerdict(page) {
  await settled(page, '#verdict-is', 'CUT');
  if ((await text(page, '#verdict-is')).startsWith('DO NOT')) complain('the dry-run says not to cut');
}

async function planByPointer(page, bench) {
  where = 'programs, by pointer';
  // Its rest was ground for the butt of before.
  await page.waitForFunction(() => document.getElementById('note-list').textContent.includes('it was made for another taper'), null, { polling: EVERY_MS });
  await page.click('#note-list >> text=Design a fixture for this blank');
  await page.waitForFunction(() => !document.getElementById('note-list').textContent.includes('it was made for another taper'), null, { timeout: LONG_MS, polling: EVERY_MS });
  const plan = await shownPlan(page);
  await page.selectOption('#vary-rows select', 'wheel.profile');
  await page.check('#vary-rows input[value$="cup-alumina-100.cfg"]');
  await page.click('#vary-more');
  await page.selectOption('.vary-row:nth-child(2) select', 'mount');
  await page.check('.vary-row:nth-child(2) input[value="tilted"]');
  if (!(await text(page, '#vary-count')).includes('1 variant beside the job')) complain('two keys are not counted as one variant');
  await page.click('#vary-go');
  await expectVariants(page);
  await page.click('#write');
  await settled(page, '#programs-are', 'They are of this job');
  await page.click('#prove');
  await expectVerdict(page);
  expectPrograms(bench, plan, true);
  await expectEdited(page, bench);
  await expectInside(page, '#play-here', '#play-run');
  await expectInside(page, '#maps-here', '#maps figure');
  await expectSheet(page, `${bench.address}sheet/answer-preview`);
  await expectSheet(page, `${bench.address}sheet/programs`);
}

// A program that somebody edited says so beside its verdict, even where the edit does nothing.
async function expectEdited(page, bench) {
  const told = () => text(page, '#verdict-reasons');
  if ((await told()).includes('is not what plan wrote')) complain('programs as they were written are called edited');
  const name = readdirSync(join(bench.folder, 'programs')).find((file) => file.startsWith('side-a'));
  const program = join(bench.folder, 'programs', name);
  const before = readFileSync(program);
  appendFileSync(program, '(a note)\n');
  await page.click('#prove');
  await page.waitForFunction(() => document.getElementById('verdict-reasons').textContent.includes(': is not what plan wrote'), null, { timeout: 60000, polling: EVERY_MS }).catch(() => complain('an edited program is not told of'));
  writeFileSync(program, before);
  await page.click('#prove');
  await page.waitForFunction(() => !document.getElementById('verdict-reasons').textContent.includes('is not what plan wrote'), null, { timeout: 60000, polling: EVERY_MS }).catch(() => complain('a program that was put back is still told of'));
}

// ---- beside the page ----

async function besideThePage(page, browser, bench) {
  where = 'two tabs and an editor';
  const other = await open(browser, bench);
  await other.waitForSelector('#view .tang');
  writeFileSync(join(bench.folder, 'job.cfg'), job(bench).replace('"2.2 mm"', '"2.15 mm"'));
  for (const tab of [page, other])
    await tab.waitForFunction(() => document.getElementById('drawn-taper-butt_thickness').value === '2.15 mm', null, { timeout: 5000, polling: EVERY_MS }).catch(() => complain('an edit in a text editor does not show'));
  await other.fill('#drawn-taper-butt_thickness', '2.2 mm');
  await other.keyboard.press('Tab');
  await page.waitForFunction(() => document.getElementById('drawn-taper-butt_thickness').value === '2.2 mm', null, { timeout: 5000, polling: EVERY_MS }).catch(() => complain('a change in another tab does not show'));
  await page.reload();
  await page.waitForSelector('#view .tang');
  if ((await page.inputValue('#drawn-taper-butt_thickness')) !== '2.2 mm') complain('a reload loses the butt');
  appendFileSync(join(bench.folder, 'job.cfg'), 'oops');
  await page.waitForFunction(() => document.getElementById('note-list').textContent.includes('syntax error'), null, { timeout: 5000, polling: EVERY_MS }).catch(() => complain('a job that does not read is not told'));
  await said(page, 'cannot be read as it stands');
  if (await page.isVisible('#play-here')) complain('the plan of before stands above what is wrong with the job');
  writeFileSync(join(bench.folder, 'job.cfg'), job(bench).replace('oops', ''));
  await page.waitForSelector('#view .tang', { timeout: 5000 });
  await other.context().close();
}

// ---- a job by keyboard ----

// Tab until the element has the focus; what a person cannot reach so is not there.
async function tabTo(page, selector) {
  for (let i = 0; i < 200; i += 1) {
    if (await page.evaluate((s) => document.activeElement?.matches(s), selector)) return;
    await page.keyboard.press('Tab');
  }
  complain(`the Tab key does not reach ${selector}`);
}

async function byKeyboard(browser, bench) {
  where = 'by keyboard';
  const page = await open(browser, bench);
  await page.waitForSelector('#begin:visible');
  await tabTo(page, '#begin');
  await page.keyboard.press('Enter');
  await page.waitForSelector('#view .tang');
  await measured(page, bench);
  const chooser = page.waitForEvent('filechooser');
  await tabTo(page, '#file');
  await page.keyboard.press('Enter');
  await (await chooser).setFiles(DRAWING);
  await said(page, 'the job names it');
  await tabTo(page, '[data-handle="start"]');
  const x = async () => Number((await page.getAttribute('[data-handle="start"]', 'aria-label')).match(/at (-?[\d.]+) mm/)[1]);
  for (let i = 0; i < 60 && Math.abs((await x()) - 201) > 2.5; i += 1) await page.keyboard.press((await x()) < 201 ? 'Shift+ArrowRight' : 'Shift+ArrowLeft');
  await said(page, 'The taper starts at');
  await tabTo(page, '#note-list button');
  await page.keyboard.press('Enter');
  await said(page, 'The stops are notes');
  expectPlaced(bench);
  await tabTo(page, '#drawn-taper-butt_thickness');
  await page.keyboard.press('Control+A');
  await page.keyboard.type('2.1 mm');
  await page.keyboard.press('ArrowUp');
  await said(page, 'butt thickness is written');
  expectJob(bench, ['butt_thickness = "2.2 mm";              # as', 'file = "knife.svg";', '# keep_outs = (']);
  return page;
}

async function planByKeyboard(page, bench) {
  where = 'programs, by keyboard';
  const plan = await shownPlan(page);
  await tabTo(page, '#vary-rows select');
  await page.keyboard.type('wheel');
  await tabTo(page, '#vary-rows input[value$="cup-alumina-100.cfg"]');
  await page.keyboard.press('Space');
  await tabTo(page, '#vary-go');
  await page.keyboard.press('Enter');
  await expectVariants(page);
  await tabTo(page, '#write');
  await page.keyboard.press('Enter');
  await settled(page, '#programs-are', 'They are of this job');
  await tabTo(page, '#prove');
  await page.keyboard.press('Enter');
  await expectVerdict(page);
  expectPrograms(bench, plan, false);
}

// ---- rows of a list, by keyboard ----

async function type(page, selector, words) {
  await tabTo(page, selector);
  await page.keyboard.press('Control+A');
  await page.keyboard.type(words);
}

async function pressOn(page, selector) {
  await tabTo(page, selector);
  await page.keyboard.press('Enter');
}

// What is written by hand here is what a maker would have typed into the file.
async function rowsOfLists(page, bench) {
  where = 'rows of a list';
  await page.click('#begin');
  await page.waitForSelector('#view .tang');
  await measured(page, bench);
  const before = job(bench);
  await page.locator('#groups details').evaluateAll((all) => { for (const group of all) group.toggleAttribute('open', group.firstChild.textContent.startsWith('fixture')); });
  await page.locator('#groups details[open] summary').focus();
  await pressOn(page, '[aria-label="Change row 2 of keep outs"]');
  await type(page, '#row-fixture-keep_outs-top', '2.5');
  await page.keyboard.press('Enter');
  await page.waitForFunction(() => document.querySelector('form.row .fault').textContent.includes('Not written'), null, { timeout: 5000, polling: EVERY_MS }).catch(() => complain('a row without a unit is not refused'));
  if (job(bench) !== before) complain('a row that is refused changes the job');
  await type(page, '#row-fixture-keep_outs-top', '2.5 mm');
  await page.keyboard.press('Enter');
  await said(page, 'Row 2 of keep outs is written');
  if (job(bench) !== before.replace('"14 mm", "6 mm"]; top = "2 mm"; },', '"14 mm", "6 mm"]; top = "2.5 mm"; },')) complain('changing a row touches more than that row');
  await page.click('#undo');
  await said(page, 'is taken back');
  await pressOn(page, '[aria-label="Remove row 8 of keep outs"]');
  await said(page, 'Row 8 of keep outs is a note');
  expectJob(bench, ['"-14 mm", "6 mm"]; top = "2 mm"; }\n', '# { name = "tip stop, B up";']);
  await page.click('.key.list:has(li) > button:text("Add a row")');
  await type(page, '#row-fixture-keep_outs-name', 'left clamp');
  await page.selectOption('#row-fixture-keep_outs-kind', 'clamp');
  await type(page, '#row-fixture-keep_outs-box', '-120 mm, -60 mm, -100 mm, -40 mm');
  await type(page, '#row-fixture-keep_outs-top', '12 mm');
  await page.keyboard.press('Enter');
  await said(page, 'Row 8 of keep outs is written');
  expectJob(bench, ['top = "2 mm"; },\n', '{ name = "left clamp"; kind = "clamp"; top = "12 mm"; box = ["-120 mm", "-60 mm", "-100 mm", "-40 mm"]; }']);
  await page.click('.key.list > button:text("Copy these rows into job.cfg")');
  await said(page, 'stand in job.cfg now');
  expectJob(bench, ['stations = (\n        { offset = "G54"; along = ']);
  await page.click('[aria-label="Change row 1 of keep outs"]');
  await access(page, 'dark', 360, 'all');
}

// By keyboard: measured thicknesses of the blade, one put in between, one taken out.
async function pairsOfLists(page, bench) {
  where = 'pairs of a list';
  await page.locator('#groups details').evaluateAll((all) => { for (const group of all) group.toggleAttribute('open', group.firstChild.textContent.startsWith('blade')); });
  const open = async () => { await page.locator('.key.list:has(strong:text-is("distal")) > button').focus(); await page.keyboard.press('Enter'); };
  const fields = (row) => page.locator(`form.pairs .lines > div:nth-child(${row}) input`);
  const fill = async (row, at, thick) => { await fields(row).nth(0).fill(at); await fields(row).nth(1).fill(thick); };
  const press = async (row, name) => { await page.locator(`form.pairs .lines > div:nth-child(${row}) button:text-is("${name}")`).focus(); await page.keyboard.press('Enter'); };
  const written = () => page.waitForSelector('form.pairs', { state: 'detached', timeout: LONG_MS }).catch(() => complain('the rows stay open'));
  await open();
  await fill(1, '10 mm', '1.2');
  await page.keyboard.press('Enter');
  await page.waitForFunction(() => document.querySelector('form.pairs .fault').textContent.includes('unit'), null, { timeout: 5000, polling: EVERY_MS }).catch(() => complain('a thickness without a unit is not refused'));
  await fill(1, '10 mm', '1.2 mm');
  await press(1, 'Row below');
  await fill(2, '90 mm', '2.3 mm');
  await page.keyboard.press('Enter');
  await written();
  expectJob(bench, ['distal = ( ("10 mm", "1.2 mm"), ("90 mm", "2.3 mm") );']);
  await open();
  await press(1, 'Row below');
  await fill(2, '50 mm', '2 mm');
  await page.keyboard.press('Enter');
  await written();
  expectJob(bench, ['distal = ( ("10 mm", "1.2 mm"), ("50 mm", "2 mm"), ("90 mm", "2.3 mm") );']);
  await open();
  await press(1, 'Remove');
  await access(page, 'light', 360, 'pairs');
  await fields(1).nth(0).press('Enter');
  await written();
  expectJob(bench, ['distal = ( ("50 mm", "2 mm"), ("90 mm", "2.3 mm") );']);
}

// A table of points does not say how long its unit is: that is asked there. The next drawing says it itself.
async function drawingWithoutUnit(page, bench) {
  where = 'a drawing without a unit';
  const points = '0,-9 110,-10 112,-6 112,6 110,10 0,9'.split(' ').join('\n');
  await page.setInputFiles('#file', { name: 'tang.csv', mimeType: 'text/csv', buffer: Buffer.from(`x,y\n${points}\n`) });
  await page.waitForSelector('#unit-ask:visible', { timeout: LONG_MS }).catch(() => complain('the unit is not asked for'));
  await page.locator('#unit-ask button').first().focus();
  await page.keyboard.press('Enter');
  await page.waitForSelector('#view path', { timeout: LONG_MS }).catch(() => complain('the drawing is not shown'));
  expectJob(bench, ['file = "tang.csv";', 'unit = "1 mm";']);
  await page.setInputFiles('#file', { name: 'other.csv', mimeType: 'text/csv', buffer: Buffer.from(`x,y\n${points}\n`) });
  await said(page, 'How long is its unit?');
  if (!(await page.isVisible('#unit-ask'))) complain('another drawing without a unit is taken in the unit of the one before');
  expectJob(bench, ['file = "other.csv";', '# unit = "1 mm";']);
  await page.selectOption('#drawings', 'outline.svg');
  await said(page, 'The job names outline.svg now');
  expectJob(bench, ['file = "outline.svg";', '# unit = "1 mm";']);
}

// ---- as people write and click ----

async function typed(page, selector, words) {
  await page.fill(selector, words);
  await page.keyboard.press('Tab');
}

const fault = (page, selector, wanted) => page.waitForFunction(([s, w]) => document.querySelector(`${s}-fault`).textContent.includes(w), [selector, wanted], { timeout: LONG_MS, polling: EVERY_MS }).catch(() => complain(`beside ${selector} it never says "${wanted}"`));

async function sizesAsWritten(page, bench) {
  where = 'sizes as people write them';
  const butt = '#drawn-taper-butt_thickness';
  for (const [words, line] of [['1/16"', '"1/16 in"'], ['0.07 inch', '"0.07 in"'], ['.06″', '".06 in"']]) {
    await typed(page, butt, words);
    await page.waitForFunction((wanted) => `"${document.querySelector('#drawn-taper-butt_thickness').value}"` === wanted, line, { timeout: LONG_MS, polling: EVERY_MS }).catch(() => complain(`${words} is not taken`));
    expectJob(bench, [`butt_thickness = ${line};`]);
  }
  await typed(page, butt, '');
  await fault(page, butt, 'Not written: it is missing');
  await typed(page, butt, '1.6 mm');
  await said(page, 'butt thickness is written');
}

// The mark is drawn anew while it moves, and the click after the drag is one of its own.
async function clickAfterDrag(page, bench) {
  where = 'a click after a drag';
  const mark = await page.locator('[data-handle="start"]').boundingBox();
  await page.mouse.move(mark.x + mark.width / 2, mark.y + mark.height / 2);
  await page.mouse.down();
  await page.mouse.move(mark.x + mark.width / 2 + 20, mark.y + mark.height / 2, { steps: 3 });
  await page.mouse.up();
  await said(page, 'The taper starts at');
  const before = job(bench);
  await page.mouse.click(mark.x + mark.width / 2 + 60, mark.y + mark.height / 2);
  for (let i = 0; i < 50 && job(bench) === before; i += 1) await page.waitForTimeout(EVERY_MS);
  if (job(bench) === before) complain('the first click does nothing');
  for (let i = 0; i < 2; i += 1) {
    await page.click('#undo');
    await said(page, 'is taken back');
  }
}

// A job with more parts than its fixture has stations does not read, and so the fixture is told how many.
async function morePartsThanStations(page, bench) {
  where = 'more parts than stations';
  await typed(page, '#block-parts', '2');
  await fault(page, '#block-parts', '2 parts need 2 stations');
  await page.click('#note-list >> text=Design a fixture for this blank');
  await said(page, 'fixture is designed');
  if ((await page.textContent('#checked')) !== 'no fault found') complain(`the check says "${await page.textContent('#checked')}"`);
  const stations = readFileSync(join(bench.folder, 'fixture', 'fixture.cfg'), 'utf8').match(/offset = "G5/g);
  if (stations?.length !== 2) complain(`the fixture has ${stations?.length} stations`);
}

async function nothingChosen(page) {
  where = 'variants without a value';
  await page.click('#vary-go');
  await page.waitForTimeout(1600); // the page asks the program every second, and shows what it tells
  if ((await page.textContent('#vary-said')) !== 'Choose at least one value.') complain(`it says "${await page.textContent('#vary-said')}"`);
}

// ---- the end ----

async function expectStopSaid(page, bench) {
  where = 'when it is stopped';
  if ((await bench.end()) !== 0) complain('SIGTERM does not end it cleanly');
  await page.waitForSelector('#stopped:visible', { timeout: 8000 }).catch(() => complain('the page does not say that the program has stopped'));
  await typed(page, '#drawn-taper-butt_thickness', '1.9 mm');
  await fault(page, '#drawn-taper-butt_thickness', 'Not written: the program behind this page has stopped');
  await page.context().close();
}

const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] });
try {
  const [one, two, empty] = await Promise.all(['pointer', 'keyboard', 'empty'].map((name) => serve(join(work, name))));
  const bare = await open(browser, empty);
  await bare.waitForSelector('#begin:visible');
  await access(bare, 'light', 360, 'all');
  await rowsOfLists(bare, empty);
  await pairsOfLists(bare, empty);
  await drawingWithoutUnit(bare, empty);
  await bare.setViewportSize({ width: 1180, height: 900 });
  await sizesAsWritten(bare, empty);
  await clickAfterDrag(bare, empty);
  await morePartsThanStations(bare, empty);
  await nothingChosen(bare);
  await bare.context().close();
  await empty.end();
  const page = await byPointer(browser, one);
  await planByPointer(page, one);
  await besideThePage(page, browser, one);
  await access(page, 'light', 1180, 'all');
  await access(page, 'dark', 360, 'looks');
  await expectStopSaid(page, one);
  const other = await byKeyboard(browser, two);
  await planByKeyboard(other, two);
  await other.context().close();
  await two.end();
} catch (error) {
  complain(`${error.message.split('\n')[0]} (${basename(program)})`);
} finally {
  for (const child of children) child.kill('SIGTERM'); // those that are gone do not mind
  await browser.close();
}
process.exit(faults > 0 ? 1 : 0);
