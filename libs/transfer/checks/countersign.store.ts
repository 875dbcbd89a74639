import { v7 as uuid } from 'uuid';
import { decide, type Decision, guards, type Viewer, roleFor } from '../../kernel/index.js';
import { lockKeepers, mayHave, mayTakePart, type NewNotice, rolesOf, standingOf } from '../../membership/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type Side, type Transfer } from '../core/transfer.core.js';
import { type TransferStore } from '../store/transfer.store.js';

/** What changes hands: animals, and eggs of clutches (the ids of their first versions). */
type Offered = { readonly animalIds: readonly string[]; readonly clutchIds?: readonly string[] };

type Parties = Pick<Transfer, 'fromKeeperId' | 'receiver'>;

/** The sides whose keepers the viewer guards, asked again under the locks of those: who left a moment ago signs for nobody. */
export async function guardedSides(
  tx: Tx,
  viewer: Viewer,
  { fromKeeperId, receiver }: Parties,
): Promise<{ side: Side; keeperId: string }[]> {
  const giver = { side: 'giver' as const, keeperId: fromKeeperId };
  const both =
    receiver.kind === 'keeper' ? [giver, { side: 'receiver' as const, keeperId: receiver.keeperId }] : [giver];
  const guarded = both.filter(({ keeperId }) => guards(viewer, keeperId));
  await lockKeepers(
    tx,
    guarded.map(({ keeperId }) => keeperId),
  );
  const still: { side: Side; keeperId: string }[] = [];
  for (const each of guarded)
    if ((await rolesOf(tx, each.keeperId)).get(viewer.accountId) === 'guardian') still.push(each);
  return still;
}

/** Writes that a guardian agrees for a side. One that stands already is refused by the constraint. */
export async function insertCountersignature(
  tx: Tx,
  signature: { transferId: string; side: Side; keeperId: string; accountId: string },
): Promise<void> {
  await tx.db.transferCountersignature.create({ data: { id: uuid(), ...signature, signedAt: tx.now } });
}

/** What was agreed to for a side holds no longer. */
export async function voidCountersignature(tx: Tx, transferId: string, side: Side): Promise<void> {
  await tx.db.transferCountersignature.updateMany({
    where: { transferId, side, voidedAt: null },
    data: { voidedAt: tx.now },
  });
}

/**
 * A countersignature of a locked transfer was given or taken back by the guardians of these keepers. Once the offer is accepted its
 * version moves on; before, nothing may change that the other side reads or hears of, so the keepers alone are told.
 */
export async function moveOnCountersigned(
  tx: Tx,
  transfers: TransferStore,
  transfer: Transfer,
  keeperIds: readonly string[],
): Promise<void> {
  if (transfer.state !== 'offered') return transfers.save(tx, transfer.version, transfer);
  await tx.db.$executeRaw`SELECT announce('transfer', ${transfer.id}::uuid, ${[...keeperIds]}::uuid[])`;
}

/** Tells the people of a minor's keeper, its guardian among them, that an offer of theirs waits for a countersignature. */
export function countersignatureAwaited(transferId: string, keeperId: string): NewNotice {
  const kind = 'transfer_countersignature_awaited';
  return { keeperId, kind, body: { transferId }, dueOn: null, dedupeKey: `${kind}:${transferId}:${keeperId}` };
}

/**
 * Whether the giver can take part in a transfer. Of the receiver nothing is refused here: what it cannot take it cannot accept
 * (`mayComeTo`), and a refusal of the offer would tell whose keeper it is. Gives the keepers of minors among the two. Refused GUARDIAN_AWAITED.
 */
export async function mayOfferBetween(
  tx: Tx,
  viewer: Viewer,
  parties: { fromKeeperId: string; toKeeperId: string | null },
): Promise<Decision<{ minors: string[] }>> {
  const { fromKeeperId, toKeeperId } = parties;
  const standing = await standingOf(tx, toKeeperId === null ? [fromKeeperId] : [fromKeeperId, toKeeperId]);
  const giver = standing.get(fromKeeperId);
  const can = giver === undefined ? decide(null) : mayTakePart('transfer', giver, roleFor(viewer, fromKeeperId));
  if (!can.ok) return can;
  const ofGiver = giver?.minor === true ? [fromKeeperId] : [];
  const ofReceiver = toKeeperId !== null && standing.get(toKeeperId)?.minor === true ? [toKeeperId] : [];
  return decide({ minors: [...ofGiver, ...ofReceiver] });
}

/** Whether the keeper itself can have these animals, and take part. Refused GUARDIAN_AWAITED, TAXON_DANGEROUS, with `act` GUARDIAN_SPEAKS. */
export async function mayComeTo(
  tx: Tx,
  viewer: Viewer,
  act: 'transfer' | 'take_up',
  keeperId: string,
  what: Offered,
): Promise<Decision<{ minor: boolean }>> {
  const standing = (await standingOf(tx, [keeperId])).get(keeperId);
  if (standing === undefined || !standing.minor) return decide({ minor: false });
  const can = mayTakePart(act, standing, roleFor(viewer, keeperId));
  if (!can.ok) return can;
  const may = mayHave(standing, { dangerous: await anyDangerous(tx, what) });
  return may.ok ? decide({ minor: true }) : may;
}

/** Whether a taxon of the animals, or of a possible mother of the eggs, is dangerous. */
async function anyDangerous(tx: Tx, { animalIds, clutchIds = [] }: Offered): Promise<boolean> {
  const [row] = await tx.db.$queryRaw<{ found: boolean }[]>`
    SELECT EXISTS (
      SELECT FROM animal a JOIN taxon t ON t.id = a.taxon_id AND t.dangerous
      WHERE a.id = ANY(${[...animalIds]}::uuid[]) OR a.id IN (
        SELECT coalesce(c.dam_id, d.dam_id) FROM clutch c LEFT JOIN clutch_dam d ON d.clutch_id = c.id
        WHERE c.original_id = ANY(${[...clutchIds]}::uuid[]) AND c.superseded_at IS NULL)) AS found`;
  return row?.found === true;
}
