import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { setOwners } from '../../custody/index.js';
import { decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { agreeToShares, settledShares } from './claim.core.js';
import { tellClaim } from '../jobs/tell-claim.job.js';
import { saveClaim } from './claim.store.js';
import { claimCommand, type ClaimOutcome, claimOutcome, lockClaim, sharesAgreed } from './claim-command.js';

export const agreeToSharesCommand = claimCommand.extend({
  proposal: z.int().positive('Proposals count from 1. | Use the number you read.'),
});

/** A party of a claim agrees to the shares at hand; with the last one they are the owners, from today. */
@Injectable()
export class AgreeToShares {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, CLAIM_ENDED, CLAIM_PROPOSAL_CHANGED. */
  async execute(viewer: Viewer, command: z.infer<typeof agreeToSharesCommand>): Promise<ClaimOutcome> {
    const request = { action: 'transfer.agree-to-shares', input: command, outcome: claimOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { claim, mine } = await lockClaim(tx, viewer, command.claimId);
      const decision = agreeToShares(claim, mine, command.proposal);
      if (!decision.ok) return decision;
      const { claim: after, settled } = decision.value;
      await saveClaim(tx, after, settled ? 'settled' : 'agreed');
      if (settled) {
        const { animalId } = claim;
        const owned = await setOwners(tx, { animalId, from: tx.today, shares: settledShares(after) });
        if (!owned.ok) return owned;
        await tx.outbox.send(tellClaim, { claimId: claim.id, what: 'settled', by: [...mine], round: 0 });
      } else {
        const what = { claimId: claim.id, what: 'agreed' as const, by: [...mine], round: command.proposal };
        await tx.outbox.send(tellClaim, what);
      }
      await tx.ledger.append(sharesAgreed, {
        subjects: [claim.animalId],
        body: {
          claimId: claim.id,
          animalId: claim.animalId,
          on: tx.today,
          proposal: command.proposal,
          parties: [...mine],
          settled,
        },
      });
      return decide({ claimId: claim.id });
    });
  }
}
