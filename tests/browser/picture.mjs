// Makes the README's picture of a setup sheet: some of its printed pages, side by side.
//
//     node picture.mjs SHEET.html PICTURE.png PAGE ...
import { createRequire } from 'node:module';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { execFileSync } from 'node:child_process';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

const { chromium } = createRequire(import.meta.url)('playwright-core');
const [sheet, picture, ...pages] = process.argv.slice(2);
const work = mkdtempSync(join(tmpdir(), 'tangwright-picture-'));
const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] });

function imageOf(pdf, page) {
  execFileSync('pdftoppm', ['-r', '72', '-f', page, '-l', page, '-png', '-singlefile', pdf, join(work, page)]);
  return `<img src="data:image/png;base64,${readFileSync(join(work, `${page}.png`)).toString('base64')}">`;
}

try {
  const page = await browser.newPage({ viewport: { width: 100, height: 100 } });
  await page.goto(`file://${resolve(sheet)}`);
  await page.pdf({ path: join(work, 'sheet.pdf'), format: 'A4' });
  const images = pages.map((number) => imageOf(join(work, 'sheet.pdf'), number)).join('');
  await page.setContent(`<style>body{margin:0;padding:12px;display:inline-flex;gap:12px;background:#c9cdd1}img{display:block}</style>${images}`);
  await page.locator('body').screenshot({ path: picture });
} finally {
  await browser.close();
  rmSync(work, { recursive: true });
}
