import { isBefore, parseEdtf, type UncertainDay } from '../../../libs/kernel/index.js';
import type { Defect } from './defects.js';
import type { NumberedAnimals } from './number-animals.js';

/** Longest stretch of a cycle that is written out in a message; `ids` holds all of it. */
const IDS_IN_A_MESSAGE = 8;

/** Words the column "sex" may hold, in lower case. H: hermaphrodite, may be sire and dam. Anything else is not known. */
export const SEX_WORDS: ReadonlyMap<string, 'M' | 'F' | 'H'> = new Map([
  ['m', 'M'],
  ['male', 'M'],
  ['♂', 'M'],
  ['f', 'F'],
  ['female', 'F'],
  ['♀', 'F'],
  ['h', 'H'],
  ['hermaphrodite', 'H'],
]);

/** The loops of a file as defects: an animal that is its own parent, or its own ancestor. Nothing can be computed. */
export function describeCycles(animals: NumberedAnimals, cycles: readonly (readonly number[])[]): Defect[] {
  const { ids, sire, dam } = animals;
  // An animal entered as both its own sire and dam is two loops and one mistake.
  const mistakes = cycles.filter(
    (cycle, at) => cycle.length > 1 || cycles.findIndex((c) => c.length === 1 && c[0] === cycle[0]) === at,
  );
  return mistakes.map((cycle) => {
    const names = cycle.map((animal) => ids[animal] ?? '');
    const [first = -1] = cycle;
    if (cycle.length === 1) {
      const role = sire[first] === first ? (dam[first] === first ? 'sire and dam' : 'sire') : 'dam';
      return {
        kind: 'self_parent',
        ids: names,
        message: `"${names[0] ?? ''}" is entered as its own ${role}. Correct the ${role}, or leave the entry blank.`,
        refuses: true,
      };
    }
    const shown = names.slice(0, IDS_IN_A_MESSAGE).map((name) => `"${name}"`);
    const more = names.length > IDS_IN_A_MESSAGE ? ` (… ${names.length - IDS_IN_A_MESSAGE} more) of` : '';
    return {
      kind: 'cycle',
      ids: names,
      message: `${shown.join(' is a child of ')} is a child of${more} "${names[0] ?? ''}": a loop. Correct a parent of one of these animals.`,
      refuses: true,
    };
  });
}

/** Warnings about sexes: a sire recorded female, a dam recorded male, one animal used as both and no hermaphrodite. */
export function findSexConflicts(animals: NumberedAnimals): Defect[] {
  const { ids, rows, sire, dam } = animals;
  const isSire = new Uint8Array(ids.length);
  const isDam = new Uint8Array(ids.length);
  for (const parent of sire) if (parent >= 0) isSire[parent] = 1;
  for (const parent of dam) if (parent >= 0) isDam[parent] = 1;
  const defects: Defect[] = [];
  ids.forEach((id, i) => {
    const sex = SEX_WORDS.get((rows[i]?.sex ?? '').toLowerCase());
    if (sex === 'H') return;
    const used = isSire[i] ? (isDam[i] ? 'sire and as a dam' : 'sire') : 'dam';
    const both = isSire[i] === 1 && isDam[i] === 1;
    if (!both && !(isSire[i] && sex === 'F') && !(isDam[i] && sex === 'M')) return;
    const recorded = sex === undefined ? '' : `, recorded ${sex === 'M' ? 'male' : 'female'},`;
    defects.push({
      kind: 'sex_conflict',
      ids: [id],
      message: `"${id}"${recorded} is used as a ${used}. Correct its sex (H for a hermaphrodite) or the parent entries.`,
      refuses: false,
    });
  });
  return defects;
}

/** Warnings about births: a parent born for certain after its child. Equal or overlapping dates are no conflict. */
export function findDateConflicts(animals: NumberedAnimals): Defect[] {
  const { ids, rows, sire, dam } = animals;
  const births = rows.map((row) => readBirth(row.birth));
  const defects: Defect[] = [];
  rows.forEach((row, i) => {
    const birth = births[i];
    if (!birth) return;
    for (const parent of new Set([sire[i] ?? -1, dam[i] ?? -1])) {
      const parentBirth = births[parent];
      if (!parentBirth || isBefore(birth, parentBirth) !== 'yes') continue;
      const name = ids[parent] ?? '';
      defects.push({
        kind: 'date_conflict',
        ids: [name, row.id],
        message: `"${name}" (born ${rows[parent]?.birth ?? ''}) is younger than its offspring "${row.id}" (born ${row.birth}). Correct a birth or the parent.`,
        refuses: false,
      });
    }
  });
  return defects;
}

/** How many births were written in a way that cannot be read; they are left out of the comparison. */
export function countUnreadBirths(animals: NumberedAnimals): number {
  return animals.rows.filter((row) => row.birth !== '' && readBirth(row.birth) === undefined).length;
}

function readBirth(text: string): UncertainDay | undefined {
  if (text === '') return undefined;
  const read = parseEdtf(text);
  return read.ok ? read.value : undefined;
}
