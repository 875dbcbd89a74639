import { UNKNOWN } from '../../../libs/genetics/index.js';
import type { NumberedAnimals } from './number-animals.js';
import type { PedigreeFile } from './read-csv.js';
import { Refusal } from './refusal.js';

/** The animals whose diversity is asked for, and the words that say which they are. */
export interface ReferenceGroup {
  /** A flag an animal, 1 = member. */
  readonly members: Uint8Array;
  readonly label: string;
}

/**
 * Finds the reference group: the animals with the asked value in the asked column; unasked, those with refpop = 1, else
 * those with status = living, else those without recorded offspring. Letter case does not matter.
 *
 * @throws Refusal when the asked column or value does not occur
 */
export function referenceGroup(
  file: PedigreeFile,
  animals: NumberedAnimals,
  asked?: { readonly column: string; readonly value: string },
): ReferenceGroup {
  if (asked) return askedGroup(file, animals, asked);
  for (const [column, value] of [
    ['refpop', '1'],
    ['status', 'living'],
  ] as const) {
    const members = membersWith(file, animals, column, value);
    if (members?.includes(1)) return { members, label: `${column} = ${value}` };
  }
  const members = new Uint8Array(animals.ids.length).fill(1);
  for (const parents of [animals.sire, animals.dam]) for (const p of parents) if (p !== UNKNOWN) members[p] = 0;
  return { members, label: 'animals without recorded offspring' };
}

function askedGroup(
  file: PedigreeFile,
  animals: NumberedAnimals,
  { column, value }: { column: string; value: string },
): ReferenceGroup {
  const members = membersWith(file, animals, column, value);
  if (!members) {
    throw new Refusal(
      `There is no column "${column}". --reference can use: ${file.columns.filter(Boolean).join(', ')}`,
    );
  }
  if (!members.includes(1)) {
    const at = file.columns.indexOf(column.toLowerCase());
    const found = [...new Set(animals.rows.map((row) => row.cells[at] ?? ''))].filter(Boolean).slice(0, 8);
    throw new Refusal(
      `No animal has ${column} = "${value}". ${found.length ? `That column holds: ${found.join(', ')}` : 'That column is empty.'}`,
    );
  }
  return { members, label: `${column} = ${value}` };
}

function membersWith(
  file: PedigreeFile,
  animals: NumberedAnimals,
  column: string,
  value: string,
): Uint8Array | undefined {
  const at = file.columns.indexOf(column.toLowerCase());
  if (at < 0) return undefined;
  const members = new Uint8Array(animals.ids.length);
  animals.rows.forEach((row, i) => {
    if ((row.cells[at] ?? '').toLowerCase() === value.toLowerCase()) members[i] = 1;
  });
  return members;
}
