// Compares how wide labels come out, in a narrow and in a wide family, with the boxes that the layout drew for them.
//
//     node widths.mjs PAGE
import { createRequire } from 'node:module';
import { resolve } from 'node:path';
import { FAMILIES, missingFamilies, useFamily } from './looks.mjs';

const { chromium } = createRequire(import.meta.url)('playwright-core');
const ENOUGH = 1.65; // a box so much wider than the widest of its words in common use would leave room for nothing

const measure = () => [...document.querySelectorAll('text')].map((t) => ({
  words: t.textContent, kind: `${t.ownerSVGElement.getAttribute('class')} "${t.getAttribute('class') ?? ''}"`,
  px: t.getComputedTextLength(), room: t.nextElementSibling.width.baseVal.value,
}));

let faults = 0;
function complain(what) {
  console.log(what);
  faults += 1;
}

const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] });
try {
  const page = await browser.newPage();
  await page.goto(`file://${resolve(process.argv[2])}`);
  for (const what of await missingFamilies(page)) complain(`the font family "${what}" is not installed`);
  for (const family of Object.values(FAMILIES)) {
    await useFamily(page, family);
    for (const { words, kind, px, room } of await page.evaluate(measure)) {
      if (px > room + 0.05) complain(`${family}, ${kind}: "${words}" is ${px.toFixed(1)} px wide, the layout thinks ${room}`);
      if (family === FAMILIES.wide && px * ENOUGH < room && words.includes(' ')) complain(`${family}, ${kind}: "${words}" is but ${px.toFixed(1)} px wide, the layout thinks ${room}`);
    }
  }
} finally {
  await browser.close();
}
process.exit(faults > 0 ? 1 : 0);
