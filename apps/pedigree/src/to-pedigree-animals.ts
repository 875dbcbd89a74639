import type { PedigreeAnimal } from '../../../libs/exchange/index.js';
import { parseEdtf, type UncertainDay } from '../../../libs/kernel/index.js';
import { SEX_WORDS } from './find-defects.js';
import type { NumberedAnimals } from './number-animals.js';
import type { PedigreeFile, PedigreeRow } from './read-csv.js';

/** Words of the column "status", in lower case (common practice, no published source). */
const DEAD_WORDS = new Set(['dead', 'died', 'deceased']);
const LIVING_WORDS = new Set(['', 'living', 'alive']);
const DEATH_COLUMNS = ['death', 'died'];

/** Longest piece of a cell that is kept in a note. */
const LONGEST = 1_000;

/**
 * The animals of a file with their words read: sex, birth, and whether and when it died (column "death" or "died", and
 * "status"). What cannot be read is no fact but is not lost: it becomes a note with the words of the file.
 */
export function toPedigreeAnimals({ columns }: PedigreeFile, animals: NumberedAnimals): PedigreeAnimal[] {
  const statusAt = columns.indexOf('status');
  const deathAt = columns.findIndex((name) => DEATH_COLUMNS.includes(name));
  const parent = (number: number | undefined): number | null => (number === undefined || number < 0 ? null : number);
  return animals.ids.map((ownNumber, i) => {
    const row = animals.rows[i];
    const cell = (at: number): string => row?.cells[at] ?? '';
    const read = readRow(row, { status: cell(statusAt), death: cell(deathAt) });
    return {
      ownNumber,
      sire: parent(animals.sire[i]),
      dam: parent(animals.dam[i]),
      ...read,
      listed: row !== undefined,
    };
  });
}

function readRow(row: PedigreeRow | undefined, { status, death }: { status: string; death: string }) {
  const notes: string[] = [];
  const keep = (entry: string, written: string): void => {
    notes.push(`The file gives its ${entry} as "${written.slice(0, LONGEST)}".`);
  };
  const day = (entry: string, written: string): UncertainDay | null => {
    if (written === '') return null;
    const result = parseEdtf(written);
    if (result.ok) return result.value;
    keep(entry, written);
    return null;
  };
  const sexWord = row?.sex ?? '';
  const letter = SEX_WORDS.get(sexWord.toLowerCase());
  const sex = letter === 'M' ? ('male' as const) : letter === 'F' ? ('female' as const) : ('unknown' as const);
  if (sex === 'unknown' && sexWord !== '') keep('sex', sexWord);
  const birth = day('birth', row?.birth ?? '');
  const diedOn = day('death', death);
  const statusWord = status.toLowerCase();
  if (!DEAD_WORDS.has(statusWord) && !LIVING_WORDS.has(statusWord)) keep('status', status);
  return { sex, birth, death: DEAD_WORDS.has(statusWord) || diedOn !== null ? { when: diedOn } : null, notes };
}
