// Asks the accessibility checker about an open page.
import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const ALL = { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] };
// What depends on the colours and on the width of the window; the other rules ask about the markup.
const OF_LOOKS = { runOnly: { type: 'rule', values: ['color-contrast', 'target-size', 'link-in-text-block', 'scrollable-region-focusable'] } };

// `of` is "all", or "looks" where the rest was asked of the same page in another light.
export async function checkAccessibility(page, of, complain) {
  await page.evaluate(axe);
  const options = { ...(of === 'all' ? ALL : OF_LOOKS), resultTypes: ['violations'] };
  const { violations } = await page.evaluate((asked) => window.axe.run(document, asked), options);
  for (const { id, help, nodes } of violations) complain(`${id}: ${help}: ${nodes[0].html.slice(0, 140)}`);
}
