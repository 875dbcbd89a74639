import { v7 as uuid } from 'uuid';
import { type RegisterNumber } from '../../kernel/index.js';
import { insertRows, type Tx } from '../../platform/prisma/index.js';
import {
  factRow,
  freeRegisterNumbers,
  lotChangeRow,
  type NewAnimal,
  projectedColumns,
  toFact,
} from './animal-write.store.js';
import { markRow } from './mark-write.store.js';

/**
 * Creates records with their first facts and marks, under ids the caller drew, in a fixed number of statements; gives the
 * register number of each in the same order. Custody, ownership, access and lineage are the caller's: `registerAllStock`
 * in libs/custody does all of it.
 */
export async function insertAnimals(
  tx: Tx,
  animals: readonly (NewAnimal & { readonly id: string })[],
): Promise<RegisterNumber[]> {
  const numbers = await freeRegisterNumbers(tx, animals.length);
  const facts = animals.map((animal) => animal.facts.map((fact) => factRow(tx, animal.id, animal.keeperId, fact)));
  const rows = animals.map((animal, i) => ({
    id: animal.id,
    registerNumber: numbers[i] ?? '',
    kind: animal.kind,
    taxonId: animal.taxonId,
    lineId: animal.lineId,
    registeredAt: tx.now,
    registeredBy: animal.keeperId,
    count: animal.count,
    countEstimated: animal.countEstimated,
    declaredFounder: animal.declaredFounder ?? false,
    ...projectedColumns((facts[i] ?? []).map((row) => toFact({ ...row, supersededAt: null }))),
  }));
  const openings = animals
    .filter((animal) => animal.kind === 'lot')
    .map(({ id, count, countEstimated, on, keeperId }) =>
      lotChangeRow(tx, { lotId: id, cause: 'opening', delta: count, estimated: countEstimated, on, keeperId }),
    );
  const marks = animals.flatMap((animal) =>
    animal.marks.map((mark) => markRow(tx, animal.id, null, mark, animal.keeperId)),
  );
  await insertRows(tx.db, 'animal', rows);
  await insertRows(tx.db, 'lotChange', openings);
  await insertRows(tx.db, 'animalFact', facts.flat());
  await insertRows(tx.db, 'animalMark', marks);
  return numbers;
}

/** The same for one record, under an id of its own. */
export async function insertAnimal(tx: Tx, animal: NewAnimal): Promise<{ id: string; registerNumber: RegisterNumber }> {
  const id = uuid();
  const [registerNumber] = await insertAnimals(tx, [{ ...animal, id }]);
  if (registerNumber === undefined) throw new Error('No register number was given.');
  return { id, registerNumber };
}
