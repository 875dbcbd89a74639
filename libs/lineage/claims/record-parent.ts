import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { findAccess } from '../../access/index.js';
import { getForWrite, lockAnimals, requestOriginRecheck, requireAuthority } from '../../animal/index.js';
import {
  decide,
  type Decision,
  invalidInput,
  isOnOrBefore,
  refuse,
  type UncertainDay,
  type Viewer,
} from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { type Candidate, decideTwoParents, type ParentStatement } from './claim.core.js';
import { claimWarning } from './claim.schema.js';
import { decideStatement } from './decide-parents.js';
import { lockLineage, readAncestry, replaceClaim } from './lineage-write.store.js';
import { readClaimsInForce } from './parent-facts.store.js';
import { ancestryPath, PARENTAGE_BASES } from './parentage.core.js';

/** No candidates and not `withoutSire` = this parent is not known after all. */
export type RecordParentCommand = ParentStatement & {
  readonly animalId: string;
  /** What it rests on, in words; personal text. */
  readonly evidence: string | null;
  /** When that was. */
  readonly when: UncertainDay | null;
  /** Needed where another claim is in force. */
  readonly reason: string | null;
  /** Names the input field of a candidate. */
  readonly pathOf: (candidate: number) => string;
};

const parentRecorded = defineLedgerAction(
  'lineage.parent-recorded',
  2,
  z.strictObject({
    animalId: z.uuid(),
    role: z.enum(['sire', 'dam']),
    candidates: z.array(z.strictObject({ parentId: z.uuid(), probability: z.number() })),
    withoutSire: z.boolean(),
    basis: z.enum(PARENTAGE_BASES),
    earliest: z.string().nullable(),
    latest: z.string().nullable(),
    lineageVersion: z.string(),
  }),
);

const outcome = z.object({ animalId: z.uuid(), warnings: z.array(claimWarning) });

/** Records, corrects or takes back one parent of an animal that a keeper of the viewer has or owns. */
@Injectable()
export class RecordParent {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * Gives what is worth knowing of the claim. NOT_FOUND, FORBIDDEN, INVALID_INPUT without a reason where a claim is in force,
   * DAY_IN_FUTURE, LINEAGE_* (see `decideClaim`, `decideTwoParents`), LINEAGE_CYCLE with the path in `blockers`, RECORD_MERGED.
   */
  async execute(viewer: Viewer, command: RecordParentCommand): Promise<z.infer<typeof outcome>> {
    const { pathOf, ...input } = command;
    return this.uow.write(viewer, { action: 'lineage.record-parent', input, outcome }, async (tx) => {
      const { animalId, role, basis, withoutSire, candidates, evidence, when, reason } = input;
      await lockAnimals(tx, [animalId]);
      await requireAuthority(tx, viewer, animalId);
      const child = await getForWrite(tx, animalId);
      const today = { earliest: tx.today, latest: tx.today };
      if (when !== null && isOnOrBefore(when, today) === 'no')
        return refuse('DAY_IN_FUTURE', 'This day is still to come.');
      await lockLineage(tx, child.taxonId);
      const possible = await decideStatement(tx, viewer, child, input, pathOf);
      if (!possible.ok) return possible;
      const free = await decideNoCycle(tx, viewer, child.id, candidates, pathOf);
      if (!free.ok) return free;
      const inForce = (await readClaimsInForce(tx, [child.id])).get(child.id) ?? [];
      const other = inForce.find((claim) => claim.role !== role)?.candidates ?? [];
      const two = role === 'sire' ? decideTwoParents(candidates, other) : decideTwoParents(other, candidates);
      if (!two.ok) return two;
      if (reason === null && inForce.some((claim) => claim.role === role)) throw reasonNeeded();
      const unknown = candidates.length === 0 && !withoutSire;
      const claim = unknown ? null : { role, basis, candidates, withoutSire, when, evidence };
      const version = await replaceClaim(tx, child, role, claim, reason);
      await tx.ledger.append(parentRecorded, {
        subjects: [child.id, ...candidates.map(({ parentId }) => parentId)],
        body: {
          animalId: child.id,
          role,
          candidates: candidates.map(({ parentId, probability }) => ({ parentId, probability })),
          withoutSire,
          basis,
          earliest: when?.earliest ?? null,
          latest: when?.latest ?? null,
          lineageVersion: String(version),
        },
        personal: { ...(reason === null ? {} : { reason }), ...(evidence === null ? {} : { evidence }) },
      });
      await requestOriginRecheck(tx, [child.id]);
      return decide({ animalId: child.id, warnings: [...possible.value] });
    });
  }
}

function reasonNeeded() {
  return invalidInput([
    {
      path: 'input.reason',
      message: 'Another claim on this parent is in force.',
      remedy: 'Write why it is replaced.',
    },
  ]);
}

/** Refuses a candidate that descends from the animal, showing the way down as far as the viewer may see the animals on it. */
async function decideNoCycle(
  tx: Tx,
  viewer: Viewer,
  childId: string,
  candidates: readonly Candidate[],
  pathOf: (candidate: number) => string,
): Promise<Decision<null>> {
  if (candidates.length === 0) return decide(null);
  const parents = await readAncestry(tx, ...candidates.map(({ parentId }) => parentId));
  for (const [i, { parentId }] of candidates.entries()) {
    const path = ancestryPath(parentId, childId, (id) => parents.get(id) ?? []);
    if (path === null) continue;
    const seen = await findAccess(tx.db, viewer, path);
    const hidden = path.filter((id) => !seen.has(id)).length;
    const untold = hidden === 0 ? '' : ` ${hidden} of the animals between are not shown to you.`;
    const message = `This animal is an ancestor of the parent you name, over ${path.length - 1} generations.${untold}`;
    const remedy = 'Correct the wrong parent on this way.';
    return refuse('LINEAGE_CYCLE', message, {
      fields: [{ path: pathOf(i), message, remedy: 'Name another animal, or correct the wrong parent on the way.' }],
      blockers: path.filter((id) => seen.has(id)).map((id) => ({ kind: 'animal', id, remedy })),
    });
  }
  return decide(null);
}
