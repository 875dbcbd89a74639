import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { findAccess } from '../../access/index.js';
import { lockAnimals } from '../../animal/index.js';
import { currentOwners, setOwners } from '../../custody/index.js';
import {
  actsFor,
  decide,
  forbidden,
  invalidInput,
  NO_ID,
  notFound,
  owns,
  parseRegisterNumber,
  roleFor,
  type Viewer,
} from '../../kernel/index.js';
import { mayTakePart, requireKeeper, standingOfOne } from '../../membership/index.js';
import { dayInput, idInput } from '../../platform/input/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { makeClaim } from './claim.core.js';
import { tellClaim } from '../jobs/tell-claim.job.js';
import { findByRegisterNumber, insertClaim, readStanding } from './claim.store.js';
import { type ClaimOutcome, claimOutcome, ownershipClaimed, statementInput } from './claim-command.js';
import { shareInput } from '../title/title-input.js';

/** Who claims which share of which animal, since when, and why. */
export const claimOwnershipCommand = z
  .object({
    keeperId: idInput,
    animalId: idInput.nullish(),
    registerNumber: z.string().max(40).nullish(),
    statement: statementInput,
    share: shareInput,
    since: dayInput,
  })
  .refine(({ animalId, registerNumber }) => ((animalId ?? null) === null) !== ((registerNumber ?? null) === null), {
    path: ['animalId'],
    message: 'A claim names one animal. | Give either animalId or registerNumber.',
  });

type Command = z.infer<typeof claimOwnershipCommand>;

/**
 * A keeper says that it owns a share of an animal. Only who has or had it, owns or owned it, or was a party of an accepted
 * transfer of it can: a stranger freezes nobody's animal. From then on its property stays as it is, until the claim is over.
 */
@Injectable()
export class ClaimOwnership {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * Throws NOT_FOUND for animals the viewer neither reads nor had to do with, FORBIDDEN for those it only reads and for helpers,
   * RULE_REFUSED with what `makeClaim` refuses, GUARDIAN_AWAITED, GUARDIAN_SPEAKS for a minor's keeper.
   */
  async execute(viewer: Viewer, command: Command): Promise<ClaimOutcome> {
    const { keeperId, statement, share, since } = command;
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    if (!owns(viewer, keeperId)) throw forbidden('Only an owner of the keeper claims an animal for it.');
    const request = { action: 'transfer.claim', input: command, outcome: claimOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      await requireKeeper(tx, keeperId);
      const possible = mayTakePart('claim', await standingOfOne(tx, keeperId), roleFor(viewer, keeperId));
      if (!possible.ok) return possible;
      const animalId = (await animalOf(tx, command)) ?? NO_ID;
      const standing = await readStanding(tx, animalId, keeperId);
      if (!standing.hasToDoWithIt) throw await stranger(tx, viewer, animalId);
      await lockAnimals(tx, [animalId]);
      // Once more: it may have been claimed, sent or received while this waited.
      const now = await readStanding(tx, animalId, keeperId);
      const owners = (await currentOwners(tx, [animalId])).get(animalId) ?? [];
      const decision = makeClaim({ ...now, claimantId: keeperId, owners }, { share, since }, tx.today);
      if (!decision.ok) return decision;
      const claimId = uuid();
      await insertClaim(tx, { id: claimId, animalId, claimantId: keeperId, statement, share, since }, decision.value);
      const frozen = await setOwners(tx, { animalId, from: tx.today, shares: owners, state: 'disputed' });
      if (!frozen.ok) return frozen;
      await tx.outbox.send(tellClaim, { claimId, what: 'made', by: [1], round: 0 });
      await tx.ledger.append(ownershipClaimed, {
        subjects: [animalId],
        body: {
          claimId,
          animalId,
          claimantId: keeperId,
          share,
          since,
          on: tx.today,
          parties: decision.value.map(({ owner, recordedParts }) => ({
            ownerId: owner.kind === 'keeper' ? owner.keeperId : owner.outsidePartyId,
            recordedParts,
          })),
        },
        personal: { statement },
      });
      return decide({ claimId });
    });
  }
}

async function animalOf(tx: Tx, { animalId, registerNumber }: Command): Promise<string | null> {
  if (animalId !== null && animalId !== undefined) return animalId;
  const read = parseRegisterNumber(registerNumber ?? '');
  if (!read.ok) throw invalidInput([{ path: 'input.registerNumber', message: read.message, remedy: read.remedy }]);
  return findByRegisterNumber(tx, read.value);
}

/** What does not exist and what the viewer may not see are told alike. */
async function stranger(tx: Tx, viewer: Viewer, animalId: string): Promise<Error> {
  const seen = await findAccess(tx.db, viewer, [animalId]);
  return seen.has(animalId)
    ? forbidden(
        'Only a keeper who has or had the animal, owns or owned it, or took part in a transfer of it can claim it.',
      )
    : notFound('animal');
}
