import { type FactInput, type NewAnimal } from '../../animal/index.js';
import { type Day } from '../../kernel/index.js';
import { type Brood } from './brood-parents.js';
import { type HatchlingsCommand, type Youngling } from './hatchlings-command.js';

/** One of the young as a new stock record with its first facts. */
export function youngRecord(
  young: Youngling,
  command: HatchlingsCommand,
  of: { keeperId: string; since: Day; brood: Brood },
): NewAnimal {
  const facts: FactInput[] = [
    { fact: { kind: 'birth', body: { manner: of.brood.manner } }, when: command.when },
    ...(young.sex === null ? [] : [{ fact: { kind: 'sex' as const, body: { sex: young.sex } }, when: null }]),
    ...(command.originClass === null
      ? []
      : [{ fact: { kind: 'origin' as const, body: { originClass: command.originClass } }, when: null }]),
    ...(young.name === null ? [] : [{ fact: { kind: 'name' as const, body: { name: young.name } }, when: null }]),
  ];
  return {
    kind: young.count > 1 ? 'lot' : 'individual',
    taxonId: of.brood.taxonId,
    lineId: of.brood.lineId,
    count: young.count,
    countEstimated: young.countEstimated,
    keeperId: of.keeperId,
    on: of.since,
    facts,
    marks: young.marks,
  };
}
