import { z } from 'zod';
import { lockAnimals } from '../../animal/index.js';
import { notFound, owns, roleFor, ruleRefused, type Viewer } from '../../kernel/index.js';
import { mayTakePart, standingOfOne } from '../../membership/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { idInput } from '../../platform/input/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type ClaimView, findClaimedAnimal, partiesOf, readClaim } from './claim.store.js';

/** What one side states. */
export const statementInput = z
  .string()
  .trim()
  .min(1, 'This is empty. | Write your side.')
  .max(2000, 'This is longer than 2,000 characters. | Shorten it.');

/** What every step names. */
export const claimCommand = z.object({ claimId: idInput });

/** What is kept of a step for a repeated request. */
export const claimOutcome = z.object({ claimId: z.uuid() });

export type ClaimOutcome = z.infer<typeof claimOutcome>;

const claim = z.strictObject({ claimId: z.uuid(), animalId: z.uuid() });

export const ownershipClaimed = defineLedgerAction(
  'transfer.ownership-claimed',
  2,
  claim.extend({
    claimantId: z.uuid(),
    share: z.strictObject({ parts: z.int(), of: z.int() }),
    since: z.iso.date(),
    /** The day from which its property is disputed. */
    on: z.iso.date(),
    /** Who has a say, in the order of their numbers: keepers, and outside parties. */
    parties: z.array(z.strictObject({ ownerId: z.uuid(), recordedParts: z.int() })),
  }),
);
export const claimReplied = defineLedgerAction('transfer.claim-replied', 1, claim.extend({ party: z.int() }));
export const sharesProposed = defineLedgerAction(
  'transfer.claim-shares-proposed',
  1,
  claim.extend({ proposal: z.int(), shares: z.array(z.strictObject({ party: z.int(), parts: z.int() })) }),
);
export const sharesAgreed = defineLedgerAction(
  'transfer.claim-shares-agreed',
  2,
  claim.extend({ on: z.iso.date(), proposal: z.int(), parties: z.array(z.int()), settled: z.boolean() }),
);
export const claimLapsed = defineLedgerAction('transfer.claim-lapsed', 1, claim.extend({ answerBy: z.iso.date() }));
export const claimWithdrawn = defineLedgerAction('transfer.claim-withdrawn', 2, claim.extend({ on: z.iso.date() }));

/**
 * A claim and the numbers of the viewer's parties in it, with its animal locked. Throws NOT_FOUND, with one text, for what does
 * not exist and for whoever owns none of its parties; RULE_REFUSED GUARDIAN_SPEAKS for a minor, whose guardian answers claims.
 */
export async function lockClaim(
  tx: Tx,
  viewer: Viewer,
  claimId: string,
): Promise<{ claim: ClaimView; mine: readonly number[] }> {
  const animalId = await findClaimedAnimal(tx, claimId);
  // Strangers do not get to wait for the lock of an animal, and are asked about as much where there is none.
  const seen = await readClaim(tx.db, viewer, claimId);
  if (animalId === null || seen === null) throw notFound('claim');
  await lockAnimals(tx, [animalId]);
  const found = await readClaim(tx.db, viewer, claimId);
  if (found === null) throw notFound('claim');
  await requireSpeaking(tx, viewer, found);
  return { claim: found, mine: partiesOf(viewer, found) };
}

/** Whoever owns a minor's keeper reads its claims, and leaves what is said in them to the guardian. */
async function requireSpeaking(tx: Tx, viewer: Viewer, { parties }: ClaimView): Promise<void> {
  for (const { owner } of parties) {
    if (owner.kind !== 'keeper' || !owns(viewer, owner.keeperId)) continue;
    const possible = mayTakePart('claim', await standingOfOne(tx, owner.keeperId), roleFor(viewer, owner.keeperId));
    if (!possible.ok) throw ruleRefused(possible.refusal);
  }
}
