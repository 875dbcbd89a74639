import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { getForWrite, lockAnimals, requestOriginRecheck, requireAuthority } from '../../animal/index.js';
import { decide, refuse, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { lockLineage, moveLineageOn, setFounder } from './lineage-write.store.js';
import { readClaimsInForce } from './parent-facts.store.js';

export type DeclareFounderCommand = { readonly animalId: string; readonly founder: boolean; readonly reason: string };

const founderDeclared = defineLedgerAction(
  'lineage.founder-declared',
  1,
  z.strictObject({ animalId: z.uuid(), founder: z.boolean(), lineageVersion: z.string() }),
);

/** Declares that an animal's line begins with it in this registry, or takes that back: then its parents are merely not known. */
@Injectable()
export class DeclareFounder {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN, RECORD_MERGED, LINEAGE_FOUNDER_HAS_PARENTS where a claim on a parent is in force. */
  async execute(viewer: Viewer, command: DeclareFounderCommand): Promise<{ animalId: string }> {
    const request = { action: 'lineage.declare-founder', input: command, outcome: z.object({ animalId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const { animalId, founder, reason } = command;
      await lockAnimals(tx, [animalId]);
      await requireAuthority(tx, viewer, animalId);
      const animal = await getForWrite(tx, animalId);
      await lockLineage(tx, animal.taxonId);
      if (founder && (await readClaimsInForce(tx, [animalId])).has(animalId))
        return refuse(
          'LINEAGE_FOUNDER_HAS_PARENTS',
          'A parent of this animal is recorded, so its line begins earlier.',
          {
            blockers: [{ kind: 'animal', id: animalId, remedy: 'Take its parents back first, with `recordParent`.' }],
          },
        );
      await setFounder(tx, animalId, founder);
      const version = await moveLineageOn(tx, animal.taxonId, [{ animalId, claimId: null }]);
      await tx.ledger.append(founderDeclared, {
        subjects: [animalId],
        body: { animalId, founder, lineageVersion: String(version) },
        personal: { reason },
      });
      await requestOriginRecheck(tx, [animalId]);
      return decide({ animalId });
    });
  }
}
