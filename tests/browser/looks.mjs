// What a page must hold whatever sans-serif face a reader's machine has: labels of a drawing lie neither on each other nor
// outside of their frame, nothing is wider than the screen or the paper, nothing too small to read.
import { execFileSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';

// Both are among the packages that the tests install. The wide one has the widths of the widest sans-serif face that
// comes with a common system, the narrow one is about three quarters of them.
export const FAMILIES = { narrow: 'Liberation Sans Narrow', wide: 'DejaVu Sans' };

// Machines with one family of fonts and with the other: the page then chooses by itself. This machine has both.
const MACHINES = { 'DejaVu fonts': ['DejaVu Sans'], 'Liberation fonts': ['Liberation Sans'] };

// In CSS px: a telephone, a tablet, a desk; A4 (ISO 216) and Letter (ANSI Y14.1) less the margins of the style sheet.
export const PAPERS = { A4: [210, 297], Letter: [215.9, 279.4] };
const SCREENS = [360, 820, 1600];
const MARGINS_MM = [26, 22]; // across, along: @page in the style sheet

export function paperInPx(name) {
  return PAPERS[name].map((mm, i) => Math.floor(((mm - MARGINS_MM[i]) * 96) / 25.4));
}

// ---- fonts ----

// For the environment of a browser: what it finds is in these families' folders alone.
export function machines(work) {
  return Object.entries(MACHINES).map(([name, families]) => {
    const folder = join(work, name.replaceAll(' ', '-'));
    const fonts = families.map((family) => dirname(execFileSync('fc-match', ['-f', '%{file}', family], { encoding: 'utf8' })));
    mkdirSync(folder);
    writeFileSync(join(folder, 'fonts.conf'), `<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd"><fontconfig>${
      fonts.map((font) => `<dir>${font}</dir>`).join('')}<cachedir>${folder}</cachedir></fontconfig>\n`);
    return { name, environment: { FONTCONFIG_FILE: join(folder, 'fonts.conf') } };
  });
}

// A family that is not there would be replaced by another one in silence, and by each fallback's own widths.
export async function missingFamilies(page) {
  return page.evaluate((families) => {
    const canvas = document.createElement('canvas').getContext('2d');
    const width = (font) => { canvas.font = font; return canvas.measureText('0.1200 in, mill').width; };
    const missing = families.filter((family) => width(`40px "${family}", serif`) !== width(`40px "${family}", monospace`));
    if (missing.length === 0 && width(`40px "${families[0]}"`) > 0.85 * width(`40px "${families[1]}"`)) missing.push('one that is narrow');
    return missing;
  }, Object.values(FAMILIES));
}

// null: the page's own ones.
export async function useFamily(page, family) {
  await page.evaluate((name) => {
    const own = document.getElementById('test-family') ?? document.head.appendChild(Object.assign(document.createElement('style'), { id: 'test-family' }));
    own.textContent = name ? `:not(code, pre, pre *) { font-family: "${name}", serif !important; }` : '';
    window.dispatchEvent(new Event('resize')); // the player draws again
  }, family);
}

// ---- what is asked ----

// A label may reach no farther than the frame that cuts it off, and lie on no other one.
const LABELS = () => {
  const out = [];
  const frameOf = (svg) => {
    const parent = svg.parentElement.closest('svg');
    if (!parent) return svg.getBoundingClientRect();
    const [x, y, width, height] = ['x', 'y', 'width', 'height'].map((name) => svg[name].baseVal.value), matrix = parent.getScreenCTM();
    const from = new DOMPoint(x, y).matrixTransform(matrix), to = new DOMPoint(x + width, y + height).matrixTransform(matrix);
    return { left: from.x, top: from.y, right: to.x, bottom: to.y };
  };
  const compare = (id, texts) => texts.forEach(([words, r, frame], i) => {
    if (r.left < frame.left - 1 || r.right > frame.right + 1 || r.top < frame.top - 1 || r.bottom > frame.bottom + 2)
      out.push(`${id}: "${words}" is cut off`);
    for (const [others, o] of texts.slice(i + 1)) {
      const wide = Math.min(r.right, o.right) - Math.max(r.left, o.left), high = Math.min(r.bottom, o.bottom) - Math.max(r.top, o.top);
      if (wide > 1 && high > 4) out.push(`${id}: "${words}" lies on "${others}"`);
    }
  });
  for (const svg of document.querySelectorAll('main figure > svg')) {
    if (svg.getClientRects().length === 0) continue;
    compare(svg.id, [...svg.querySelectorAll('text')].map((t) => [t.textContent, t.getBoundingClientRect(), frameOf(t.closest('svg'))]).filter(([, r]) => r.width > 0));
  }
  for (const canvas of document.querySelectorAll('canvas'))
    if (canvas.getClientRects().length > 0 && canvas.labels)
      compare('the player', canvas.labels.map(([words, r]) => [words, r, { left: 0, top: 0, right: canvas.clientWidth, bottom: canvas.clientHeight }]));
  return out;
};

// Run before the page's own script: keeps where the player's words are since it last began to draw.
export const KEEP_CANVAS_LABELS = () => {
  const drawing = CanvasRenderingContext2D.prototype, { fillText, clearRect } = drawing;
  drawing.clearRect = function (...arguments_) { this.canvas.labels = []; return clearRect.apply(this, arguments_); };
  drawing.fillText = function (words, x, y, ...rest) {
    const size = this.measureText(words);
    this.canvas.labels?.push([words, { left: x - size.actualBoundingBoxLeft, right: x + size.actualBoundingBoxRight, top: y - size.actualBoundingBoxAscent, bottom: y + size.actualBoundingBoxDescent }]);
    return fillText.call(this, words, x, y, ...rest);
  };
};

const OVERFLOW = () => {
  const width = document.documentElement.clientWidth, out = [];
  for (const e of document.querySelectorAll('body *')) {
    if (e.closest('svg') || (e.closest('.scroll') && !matchMedia('print').matches) || e.matches('.sr, .skip')) continue;
    const r = e.getBoundingClientRect();
    if (r.width > 0 && (r.right > width + 0.5 || r.left < -0.5)) out.push(`${e.tagName.toLowerCase()} in ${e.closest('section')?.id ?? 'the head'}: "${e.textContent.trim().slice(0, 30)}"`);
  }
  return out.slice(0, 5);
};

// No text of a drawing comes out smaller than a reader of the sheet on a telephone can do with: 8 px, judgement.
const SMALL = () => [...document.querySelectorAll('main svg text')].filter((t) => t.getClientRects().length > 0)
  .filter((t) => parseFloat(getComputedStyle(t).fontSize) * (t.ownerSVGElement.closest('figure > svg').getBoundingClientRect().width /
    t.ownerSVGElement.closest('figure > svg').viewBox.baseVal.width) < 8).map((t) => t.textContent).slice(0, 3);

// Room to write a figure by pen, on all sides of which a line says so; and on a large screen not a narrow column.
const ROOM = () => {
  const out = [], main = document.querySelector('main').getBoundingClientRect();
  for (const cell of document.querySelectorAll('.gauge td.pen')) {
    const r = cell.getBoundingClientRect(), style = getComputedStyle(cell);
    if (r.width < 60 || r.height < 20) out.push(`a cell to write into is ${Math.round(r.width)} by ${Math.round(r.height)} px`);
    if (['Top', 'Right', 'Bottom', 'Left'].some((side) => parseFloat(style[`border${side}Width`]) === 0)) out.push('a cell to write into has no border');
  }
  if (main.width < 0.75 * Math.min(document.documentElement.clientWidth, 1600)) out.push(`the page is a column of ${Math.round(main.width)} px`);
  return [...new Set(out)].slice(0, 3);
};

// No number stands twice in the legend of a map.
const LEGENDS = () => [...document.querySelectorAll('[id^="hottest-"] > svg, [id^="left-"] > svg')].filter((svg) => {
  const numbers = [...svg.querySelectorAll('.tick')].map((t) => t.textContent);
  return numbers.length === 0 || new Set(numbers).size < numbers.length;
}).map((svg) => svg.id).slice(0, 3);

async function checkPlace(page, place, complain) {
  for (const what of await page.evaluate(OVERFLOW)) complain(`${place} too wide: ${what}`);
  for (const what of (await page.evaluate(LABELS)).slice(0, 6)) complain(`${place} ${what}`);
  for (const what of await page.evaluate(SMALL)) complain(`${place} too small to read: ${what}`);
  for (const what of await page.evaluate(ROOM)) complain(`${place} ${what}`);
  for (const what of await page.evaluate(LEGENDS)) complain(`${place} the legend of ${what} says a number twice, or none`);
}

// On a telephone, on a tablet and on paper; with the page's own families where none is named.
export async function checkLooks(page, family, complain) {
  const face = family ? ` in ${family}` : '';

  await useFamily(page, family);
  for (const width of SCREENS) {
    await page.setViewportSize({ width, height: 900 });
    await checkPlace(page, `at ${width} px${face}`, complain);
  }
  await page.emulateMedia({ media: 'print' });
  for (const name of Object.keys(PAPERS)) {
    const [width, height] = paperInPx(name);
    await page.setViewportSize({ width, height });
    await checkPlace(page, `on ${name}${face}`, complain);
  }
  await page.emulateMedia({ media: null });
}
