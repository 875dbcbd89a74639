import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, MAX_SHARE_PARTS, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { proposeShares } from './claim.core.js';
import { tellClaim } from '../jobs/tell-claim.job.js';
import { saveClaim } from './claim.store.js';
import { claimCommand, type ClaimOutcome, claimOutcome, lockClaim, sharesProposed } from './claim-command.js';

export const proposeSharesCommand = claimCommand.extend({
  shares: z
    .array(
      z.object({
        party: z.int().positive('Parties count from 1. | Use the numbers the claim gives.'),
        parts: z
          .int()
          .min(0, 'Parts are not negative. | Write 0 for a party that shall own nothing.')
          .max(MAX_SHARE_PARTS, `A party owns at most ${MAX_SHARE_PARTS} parts. | Use smaller whole numbers.`),
      }),
    )
    .max(100, 'These are too many parties. | Name each party of the claim once.'),
});

/** One side of a claim proposes shares for everybody, and agrees to them itself. */
@Injectable()
export class ProposeShares {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, CLAIM_ENDED, CLAIM_SHARES_MISFIT. */
  async execute(viewer: Viewer, command: z.infer<typeof proposeSharesCommand>): Promise<ClaimOutcome> {
    const request = { action: 'transfer.propose-shares', input: command, outcome: claimOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { claim, mine } = await lockClaim(tx, viewer, command.claimId);
      const decision = proposeShares(claim, mine, command.shares, tx.today);
      if (!decision.ok) return decision;
      const { proposal } = decision.value;
      await saveClaim(tx, decision.value, 'proposed');
      await tx.outbox.send(tellClaim, { claimId: claim.id, what: 'proposed', by: [...mine], round: proposal });
      await tx.ledger.append(sharesProposed, {
        subjects: [claim.animalId],
        body: { claimId: claim.id, animalId: claim.animalId, proposal, shares: command.shares },
      });
      return decide({ claimId: claim.id });
    });
  }
}
