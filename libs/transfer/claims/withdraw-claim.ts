import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { currentOwners, setOwners } from '../../custody/index.js';
import { decide, forbidden, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { withdrawClaim } from './claim.core.js';
import { tellClaim } from '../jobs/tell-claim.job.js';
import { saveClaim } from './claim.store.js';
import { type claimCommand, type ClaimOutcome, claimOutcome, claimWithdrawn, lockClaim } from './claim-command.js';

/** The claimant takes a claim back: the owners by the record are the owners, from today without a question. */
@Injectable()
export class WithdrawClaim {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN but for the claimant, CLAIM_ENDED. */
  async execute(viewer: Viewer, command: z.infer<typeof claimCommand>): Promise<ClaimOutcome> {
    const request = { action: 'transfer.withdraw-claim', input: command, outcome: claimOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { claim, mine } = await lockClaim(tx, viewer, command.claimId);
      if (!mine.includes(1)) throw forbidden('Only the claimant takes a claim back.');
      const decision = withdrawClaim(claim);
      if (!decision.ok) return decision;
      const { animalId } = claim;
      await saveClaim(tx, decision.value, 'withdrawn');
      const shares = (await currentOwners(tx, [animalId])).get(animalId) ?? [];
      const owned = await setOwners(tx, { animalId, from: tx.today, shares });
      if (!owned.ok) return owned;
      await tx.outbox.send(tellClaim, { claimId: claim.id, what: 'withdrawn', by: [...mine], round: 0 });
      const body = { claimId: claim.id, animalId, on: tx.today };
      await tx.ledger.append(claimWithdrawn, { subjects: [animalId], body });
      return decide({ claimId: claim.id });
    });
  }
}
