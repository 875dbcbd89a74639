import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { findAccess } from '../access/index.js';
import { getForWrite, lockAnimals, requestOriginRecheck, requireAuthority } from '../animal/index.js';
import { decide, type Decision, notFound, refuse, type Viewer } from '../kernel/index.js';
import { defineLedgerAction } from '../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../platform/prisma/index.js';
import { lockLineage, readAncestry, replaceClaim } from './lineage-write.store.js';
import {
  ancestryPath,
  decideParent,
  type KinFacts,
  PARENTAGE_BASES,
  type ParentageBasis,
  type ParentRole,
} from './parentage.core.js';

export type RecordParentCommand = {
  readonly animalId: string;
  readonly role: ParentRole;
  /** Null = this parent is not known after all. */
  readonly parentId: string | null;
  readonly basis: ParentageBasis;
  readonly reason: string;
};

const parentRecorded = defineLedgerAction(
  'lineage.parent-recorded',
  1,
  z.strictObject({
    animalId: z.uuid(),
    role: z.enum(['sire', 'dam']),
    parentId: z.uuid().nullable(),
    basis: z.enum(PARENTAGE_BASES),
    lineageVersion: z.string(),
  }),
);

/** Reads a parent that a viewer names. Throws NOT_FOUND for one they may not see. */
export async function getVisibleParent(tx: Tx, viewer: Viewer, parentId: string): Promise<KinFacts> {
  const seen = await findAccess(tx.db, viewer, [parentId]);
  if (!seen.has(parentId)) throw notFound('animal');
  return getForWrite(tx, parentId);
}

/** Records, corrects or takes back one parent of an animal that a keeper of the viewer has or owns. */
@Injectable()
export class RecordParent {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN, LINEAGE_* (see `decideParent`), LINEAGE_CYCLE with the path in `blockers`. */
  async execute(viewer: Viewer, command: RecordParentCommand): Promise<{ animalId: string }> {
    const request = { action: 'lineage.record-parent', input: command, outcome: z.object({ animalId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await lockAnimals(tx, [command.animalId]);
      await requireAuthority(tx, viewer, command.animalId);
      const child = await getForWrite(tx, command.animalId);
      await lockLineage(tx, child.taxonId);
      if (command.parentId !== null) {
        const possible = decideParent(child, await getVisibleParent(tx, viewer, command.parentId), command.role);
        if (!possible.ok) return possible;
        const free = await decideNoCycle(tx, viewer, child.id, command.parentId);
        if (!free.ok) return free;
      }
      const claim =
        command.parentId === null
          ? null
          : { role: command.role, basis: command.basis, candidates: [{ parentId: command.parentId, probability: 1 }] };
      const version = await replaceClaim(tx, child, command.role, claim, command.reason);
      await tx.ledger.append(parentRecorded, {
        subjects: [child.id, ...(command.parentId === null ? [] : [command.parentId])],
        body: {
          animalId: child.id,
          role: command.role,
          parentId: command.parentId,
          basis: command.basis,
          lineageVersion: String(version),
        },
        personal: { reason: command.reason },
      });
      await requestOriginRecheck(tx, [child.id]);
      return decide({ animalId: child.id });
    });
  }
}

/** Refuses a parent that descends from the animal, showing the way down as far as the viewer may see the animals on it. */
async function decideNoCycle(tx: Tx, viewer: Viewer, childId: string, parentId: string): Promise<Decision<null>> {
  const parents = await readAncestry(tx, parentId);
  const path = ancestryPath(parentId, childId, (id) => parents.get(id) ?? []);
  if (path === null) return decide(null);
  const seen = await findAccess(tx.db, viewer, path);
  const hidden = path.filter((id) => !seen.has(id)).length;
  const untold = hidden === 0 ? '' : ` ${hidden} of the animals between are not shown to you.`;
  return refuse(
    'LINEAGE_CYCLE',
    `This animal is an ancestor of the parent you name, over ${path.length - 1} generations.${untold}`,
    {
      blockers: path
        .filter((id) => seen.has(id))
        .map((id) => ({ kind: 'animal', id, remedy: 'Correct the wrong parent on this way.' })),
    },
  );
}
