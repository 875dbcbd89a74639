import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import {
  type FactInput,
  lockAnimals,
  type RaisedAnimal,
  requestOriginRecheck,
  requireAuthority,
  requireChipTries,
  reviewMarkConflicts,
  type Sex,
} from '../../animal/index.js';
import { type Day, decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { raiseFromLot } from '../store/lot-change.store.js';
import { raisedFromLot } from './lot-ledger.js';

/** Most individuals raised out of a lot in one call. */
export const MAX_RAISED = 50;

export type RaiseFromLotCommand = {
  readonly lotId: string;
  readonly on: Day | null;
  readonly animals: readonly {
    readonly name: string | null;
    readonly sex: Sex | null;
    readonly marks: RaisedAnimal['marks'];
  }[];
};

const outcome = z.object({ lotId: z.uuid(), animalIds: z.array(z.uuid()) });

/** Registers individuals out of a lot: they keep its parents, birth, origin, holder, owners, documents and quarantine. */
@Injectable()
export class RaiseFromLot {
  constructor(private readonly uow: UnitOfWork) {}

  /** Gives their ids in the order given. NOT_FOUND, FORBIDDEN unless the viewer's keeper has the lot, what `raiseFromLot` refuses, and RATE_LIMITED by `requireChipTries`. */
  async execute(viewer: Viewer, command: RaiseFromLotCommand): Promise<z.infer<typeof outcome>> {
    return this.uow.write(viewer, { action: 'animal.raise-from-lot', input: command, outcome }, async (tx) => {
      const { lotId } = command;
      await requireChipTries(
        tx,
        command.animals.flatMap(({ marks }) => marks.map(({ kind }) => kind)),
      );
      await lockAnimals(tx, [lotId]);
      const { keeperId } = await requireAuthority(tx, viewer, lotId, true);
      const on = command.on ?? tx.today;
      const raised = await raiseFromLot(
        tx,
        { lotId, on, keeperId },
        command.animals.map(({ marks, name, sex }) => ({ marks, facts: factsOf(name, sex) })),
      );
      if (!raised.ok) return raised;
      const { ids, left } = raised.value;
      await tx.ledger.append(raisedFromLot, {
        subjects: [lotId, ...ids],
        body: { lotId, keeperId, on, animalIds: ids, left },
        personal: Object.fromEntries(
          command.animals.flatMap(({ name, marks }, i): [string, string][] => [
            ...(name === null ? [] : [[`${i}.name`, name] as [string, string]]),
            ...marks.map((mark, k): [string, string] => [`${i}.marks.${k}`, mark.value]),
          ]),
        ),
      });
      await requestOriginRecheck(tx, ids);
      await reviewMarkConflicts(tx, ids);
      return decide({ lotId, animalIds: ids });
    });
  }
}

function factsOf(name: string | null, sex: Sex | null): FactInput[] {
  return [
    ...(sex === null ? [] : [{ fact: { kind: 'sex' as const, body: { sex } }, when: null }]),
    ...(name === null ? [] : [{ fact: { kind: 'name' as const, body: { name } }, when: null }]),
  ];
}
