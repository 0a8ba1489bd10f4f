// Looks at fixtures' pages in a browser: valid HTML, labels that lie on each other, what is too wide or too small. One line for
// each fault found.
//
//     node fixture.mjs FILE ...
import { createRequire } from 'node:module';
import { resolve } from 'node:path';
import { FAMILIES, checkLooks, missingFamilies } from './looks.mjs';

const require = createRequire(import.meta.url);
const { chromium } = require('playwright-core');
const { HtmlValidate } = require('html-validate');

const validator = new HtmlValidate({ extends: ['html-validate:standard'], rules: { 'void-style': ['error', { style: 'selfclosing' }], 'no-inline-style': 'off', 'long-title': 'off', 'prefer-native-element': 'off' } });

let faults = 0;
const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] });
for (const file of process.argv.slice(2)) {
  const complain = (what) => {
    console.log(`${file}: ${what}`);
    faults += 1;
  };
  for (const result of (await validator.validateFile(file)).results)
    for (const message of result.messages.slice(0, 8)) complain(`not valid HTML, line ${message.line}: ${message.message} (${message.ruleId})`);
  const page = await browser.newPage();
  await page.goto(`file://${resolve(file)}`);
  for (const what of await missingFamilies(page)) complain(`the font family "${what}" is not installed`);
  for (const family of Object.values(FAMILIES)) await checkLooks(page, family, complain);
  await page.close();
}
await browser.close();
process.exit(faults > 0 ? 1 : 0);
