import { type Day, daysApart, type DaySpan } from '../../kernel/index.js';
import {
  bredByLines,
  type PaperEgg,
  type PaperEggs,
  type PaperLine,
  parentsInWords,
} from '../papers/record-paper.core.js';
import { whenInWords } from '../papers/when-words.core.js';

/** Stands beside eggs wherever they are printed. Common practice, no published source. */
export const EGGS_CAUTION =
  'Do not turn the eggs, and keep the marked side up: turning an egg of a reptile can kill the embryo. When in doubt ask a ' +
  'veterinarian or an experienced breeder. What may be sold or given away as a viable egg is a matter of local law: the local ' +
  'authority decides.';

/** The lines a paper prints of the eggs of one clutch, in order. Days of incubation are counted until the day of printing. */
export function eggLines(clutch: PaperEggs, printedOn: Day): PaperLine[] {
  const of = clutch.clutchSize === null ? 'of a clutch that was not counted' : `of a clutch of ${clutch.clutchSize}`;
  return [
    { label: 'Eggs', text: `${numbersInWords(clutch.eggs)}, ${of}` },
    { label: 'Species', text: `${clutch.scientificName} (${clutch.commonName})` },
    { label: 'Laid', text: whenInWords(clutch.laidEdtf) },
    { label: 'Side that is up', text: sidesInWords(clutch.eggs) },
    { label: 'Temperature', text: celsiusInWords(clutch.celsius) },
    { label: 'Incubated', text: incubationInWords(clutch.eggs, printedOn) },
    { label: 'Sire', text: claimed(clutch.sires) },
    { label: 'Dam', text: claimed(clutch.dams) },
    ...bredByLines(clutch.bredBy),
    { label: 'Caution', text: EGGS_CAUTION },
  ];
}

/** "egg 1" or "eggs 1, 2, 3". */
export function numbersInWords(eggs: readonly Pick<PaperEgg, 'number'>[]): string {
  return `${eggs.length === 1 ? 'egg' : 'eggs'} ${eggs.map(({ number }) => number).join(', ')}`;
}

function claimed(numbers: readonly string[]): string {
  return numbers.length === 0 ? 'unknown' : `${parentsInWords(numbers)}, as claimed by the keeper’s records`;
}

function sidesInWords(eggs: readonly PaperEgg[]): string {
  const marked = eggs.filter((egg) => egg.topMarked);
  if (marked.length === 0) return 'not marked, as far as recorded';
  const rest = eggs.filter((egg) => !egg.topMarked);
  const none = rest.length === 0 ? '' : `; ${numbersInWords(rest)}: not recorded`;
  return `marked on ${numbersInWords(marked)}${none}`;
}

function celsiusInWords(celsius: PaperEggs['celsius']): string {
  if (celsius === null) return 'not recorded';
  const { lowest, highest } = celsius;
  return `${lowest === highest ? lowest : `${lowest} to ${highest}`} °C, as recorded`;
}

/** Eggs with the same days stand together. */
function incubationInWords(eggs: readonly PaperEgg[], printedOn: Day): string {
  const groups = new Map<string, PaperEgg[]>();
  for (const egg of eggs) {
    const words = soFarInWords(egg.incubatedFrom, printedOn);
    groups.set(words, [...(groups.get(words) ?? []), egg]);
  }
  const parts = [...groups].map(([words, some]) => (groups.size === 1 ? words : `${numbersInWords(some)}: ${words}`));
  return `${parts.join('; ')} (on ${printedOn})`;
}

function soFarInWords(from: DaySpan | null, printedOn: Day): string {
  if (from === null) return 'not recorded';
  const { fewest, most } = daysApart(from, { earliest: printedOn, latest: printedOn });
  const least = Math.max(0, fewest ?? 0);
  if (most === null) return `at least ${least} days`;
  return most === least ? `${least} days` : `${least} to ${most} days`;
}
