import { type Day, parseEdtf } from '../../kernel/index.js';
import { EGGS_CAUTION, numbersInWords } from '../eggs/egg-paper.core.js';
import {
  birthYear,
  changedSince,
  type ComparedRecord,
  NO_PROOF,
  originInWords,
  type PaperAnimal,
  type PaperEggs,
} from './record-paper.core.js';

/** One animal of the public page: what stood on the paper, and what the registry records now. */
export type PageAnimal = { readonly paper: PaperAnimal; readonly now: ComparedRecord & { readonly fate: string } };

const FATES: Readonly<Record<string, string>> = {
  alive: 'No death, loss or theft is recorded.',
  dead: 'Recorded as dead.',
  missing: 'Recorded as missing.',
  stolen: 'Recorded as stolen.',
  escaped: 'Recorded as escaped.',
  seized: 'Recorded as seized by an authority.',
  surrendered: 'Recorded as surrendered.',
  left_registry: 'Recorded as having left the registry.',
};

const NOT_ON_THIS_PAGE: readonly string[] = [
  'who has the animal, who owns it, or who gave it',
  'where it is, or where it was',
  'what was paid for it',
  'its health and the notes of its keepers',
  'whether its origin was lawful: the origin is shown as it was claimed, and nobody has examined it for this page',
];

/** What the registry records now of the eggs of a paper. */
export type EggsNow = {
  readonly scientificName: string;
  readonly laidEdtf: string | null;
  readonly hatched: number;
  readonly cameToNothing: number;
};

/** Eggs of one clutch on the public page; `now` null = the clutch was taken back. */
export type PageEggs = { readonly paper: PaperEggs; readonly now: EggsNow | null };

/** The public page about a paper, for anybody who holds its code. HTML without script. */
export function paperPage(printedOn: Day, animals: readonly PageAnimal[], eggs: readonly PageEggs[] = []): string {
  return page(
    'Animal record',
    `<p>A paper with this code was printed on ${printedOn} from the Kithbook registry.</p>
<p><strong>${NO_PROOF}</strong></p>
${[...animals.map(section), ...eggs.map(eggSection)].join('\n')}
<h2>What this page does not show</h2>
<ul>${NOT_ON_THIS_PAGE.map((text) => `<li>${text}</li>`).join('')}</ul>`,
  );
}

/** The page for a code that no paper has: the same for a mistyped code and for one that never was. */
export function noPaperPage(): string {
  return page(
    'No such paper',
    `<p>No paper of this registry has this code.</p>
<p>Compare the address with the paper, character by character. A paper whose code is not known here was not printed by this registry.</p>`,
  );
}

function section({ paper, now }: PageAnimal): string {
  const changed = changedSince(paper, now);
  const rows: [string, string][] = [
    ['Register number', paper.registerNumber],
    ['Species', `${paper.scientificName} (${paper.commonName})`],
    ['Sex', paper.sex],
    ['Year of birth', yearOf(paper.birthEdtf)],
    ['Origin', originInWords(paper)],
    ['The record today', changed.length === 0 ? 'unchanged' : `changed since: ${changed.join(', ')}`],
    ['Fate', FATES[now.fate] ?? 'Not known.'],
  ];
  return sectionOf(paper.registerNumber, rows);
}

function eggSection({ paper, now }: PageEggs): string {
  const changed = [
    ...(now?.scientificName === paper.scientificName ? [] : ['species']),
    ...(now?.laidEdtf === paper.laidEdtf ? [] : ['laying']),
  ];
  const today = changed.length === 0 ? 'unchanged' : `changed since: ${changed.join(', ')}`;
  return sectionOf(`${numbersInWords(paper.eggs)} of a clutch`, [
    ['Species', `${paper.scientificName} (${paper.commonName})`],
    ['Year of laying', yearOf(paper.laidEdtf)],
    ['The record today', now === null ? 'The clutch was taken back.' : today],
    ...(now === null ? [] : [['Fate', fateOfEggs(now)] as const]),
    ['Caution', EGGS_CAUTION],
  ]);
}

function fateOfEggs({ hatched, cameToNothing }: EggsNow): string {
  if (hatched + cameToNothing === 0) return 'No hatching and no loss is recorded.';
  return `Recorded as hatched: ${hatched}; as come to nothing: ${cameToNothing}.`;
}

function sectionOf(title: string, rows: readonly (readonly [string, string])[]): string {
  return `<section>
<h2>${escape(title)}</h2>
<table>${rows.map(([label, text]) => `<tr><th scope="row">${label}</th><td>${escape(text)}</td></tr>`).join('')}</table>
</section>`;
}

function yearOf(edtf: string | null): string {
  const read = edtf === null ? null : parseEdtf(edtf);
  return (read?.ok ? birthYear(read.value.earliest, read.value.latest) : null) ?? 'unknown';
}

function page(title: string, body: string): string {
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="robots" content="noindex, nofollow">
<meta name="referrer" content="no-referrer">
<title>${title} · Kithbook</title>
<style>body{font:1rem/1.5 sans-serif;max-width:42rem;margin:2rem auto;padding:0 1rem;color:#000;background:#fff}th{text-align:left;vertical-align:top;padding-right:1.5rem}</style>
</head>
<body>
<h1>${title}</h1>
${body}
</body>
</html>
`;
}

function escape(text: string): string {
  const entities: Readonly<Record<string, string>> = {
    '&': '&amp;',
    '<': '&lt;',
    '>': '&gt;',
    '"': '&quot;',
    "'": '&#39;',
  };
  return text.replace(/[&<>"']/g, (character) => entities[character] ?? character);
}
