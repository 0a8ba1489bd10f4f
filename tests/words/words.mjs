// Prints what the RS-274 parser of the package gcode-parser reads from a program, one line for each line of the
// program that holds words: its number and the words, "12 G 1 X -3.5 F 900". Line numbers of the program (N) are
// left out. Ends with 1, and says why, when anything in the text is not read or is not what such a program holds.
//
//     node words.mjs PROGRAM
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const parser = createRequire(import.meta.url)('gcode-parser');
const text = readFileSync(process.argv[2], 'latin1');
const lines = text.split(/\r?\n/);
const read = parser.parseStringSync(text, { lineMode: 'compact' });
let faults = 0;

function complain(number, what) {
  console.error(`${process.argv[2]}:${number}: ${what}`);
  faults += 1;
}

// The parser leaves empty lines out; this pairs the others with theirs.
const filled = lines.map((line, index) => [index + 1, line]).filter(([, line]) => line.trim() !== '');
if (filled.length !== read.length) complain(0, `${read.length} of ${filled.length} lines read`);

read.forEach((result, i) => {
  const [number, line] = filled[i];
  const spelled = result.words.map(([letter]) => letter).join('');
  const letters = result.line.replace(/^%$/, '').replace(/^N\d+/, '').replace(/[^A-Za-z]/g, '');

  if (result.err) complain(number, `refused: ${line}`);
  if (result.cmds && line.trim() !== '%') complain(number, `taken for a command: ${line}`);
  if (spelled !== letters) complain(number, `read as ${spelled}: ${line}`);
  if (result.comments && (result.comments.length !== 1 || result.words.length > 0 || /[()]/.test(result.comments[0])))
    complain(number, `more than one comment, or a comment and words: ${line}`);
  for (const [letter, value] of result.words)
    if (typeof value !== 'number' || !Number.isFinite(value)) complain(number, `${letter}${value} is no number: ${line}`);
  if (result.words.length > 0)
    console.log(`${number} ${result.words.map(([letter, value]) => `${letter} ${value}`).join(' ')}`);
});
process.exit(faults > 0 ? 1 : 0);
