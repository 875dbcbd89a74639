import { Injectable } from '@nestjs/common';
import { toDateColumn, fromDateColumn } from '../../access/index.js';
import { type Day, dayOf, formatRegisterNumber, owns, type RegisterNumber, type Viewer } from '../../kernel/index.js';
import { Database, type Db, Prisma, type Tx } from '../../platform/prisma/index.js';
import { type Claim, type ClaimOwner, type ClaimParty } from './claim.core.js';
import { type Share } from '../core/transfer.core.js';

/** How a claim can end. */
export type ClaimOutcome = 'withdrawn' | 'settled' | 'lapsed';

/** A party as the others see it: by its number, without a name. */
export type PartyView = ClaimParty & { readonly reply: string | null; readonly repliedAt: Date | null };

/** A claim with what was said in it, for its parties. */
export type ClaimView = Omit<Claim, 'parties'> & {
  readonly registerNumber: string;
  readonly statement: string;
  readonly share: Share;
  readonly since: Day;
  readonly madeAt: Date;
  readonly proposedAt: Date | null;
  readonly endedAt: Date | null;
  readonly outcome: ClaimOutcome | null;
  readonly parties: readonly PartyView[];
};

type PartyJson = Omit<PartyView, 'owner' | 'replied' | 'repliedAt'> & {
  keeperId: string | null;
  outsidePartyId: string | null;
  repliedAt: string | null;
};

type Row = {
  id: string;
  animalId: string;
  registerNumber: string;
  statement: string;
  shareParts: number;
  shareOf: number;
  since: Date;
  madeAt: Date;
  proposedAt: Date | null;
  proposal: number;
  endedAt: Date | null;
  outcome: ClaimOutcome | null;
  awaitsClaimantSince: Date | null;
  parties: PartyJson[];
};

/** Reads claims for their parties: owners of the keepers concerned, and nobody else. */
@Injectable()
export class ClaimStore {
  constructor(private readonly database: Database) {}

  /** Claims in which an own keeper is a party, newest first, one more than asked where there is one. */
  async page(viewer: Viewer, first: number, after: { at: Date; id: string } | null): Promise<ClaimView[]> {
    const beyond =
      after === null ? Prisma.empty : Prisma.sql`AND (c.made_at, c.id) < (${after.at}::timestamptz, ${after.id}::uuid)`;
    return readClaims(this.database.client, Prisma.sql`${partyOf(viewer)} ${beyond}`, first + 1);
  }

  /** One claim in which an own keeper is a party, or null. */
  async find(viewer: Viewer, id: string): Promise<ClaimView | null> {
    return readClaim(this.database.client, viewer, id);
  }
}

/** One claim of which the viewer owns a party, or null. */
export async function readClaim(db: Pick<Db, '$queryRaw'>, viewer: Viewer, id: string): Promise<ClaimView | null> {
  const [found] = await readClaims(db, Prisma.sql`c.id = ${id}::uuid AND ${partyOf(viewer)}`, 1);
  return found ?? null;
}

/** The numbers of the parties the viewer owns. */
export function partiesOf(viewer: Viewer, { parties }: Pick<Claim, 'parties'>): number[] {
  return parties.flatMap(({ owner, number }) =>
    owner.kind === 'keeper' && owns(viewer, owner.keeperId) ? [number] : [],
  );
}

function partyOf(viewer: Viewer): Prisma.Sql {
  const ids = viewer.keepers.map(({ keeperId }) => keeperId).filter((id) => owns(viewer, id));
  return Prisma.sql`EXISTS (SELECT 1 FROM ownership_claim_party p LEFT JOIN outside_party o ON o.id = p.outside_party_id
    WHERE p.claim_id = c.id AND coalesce(p.keeper_id, o.taken_up_by_keeper) = ANY(${ids}::uuid[]))`;
}

/** An outside party that has taken its animals up since is the keeper it turned out to be. */
async function readClaims(db: Pick<Db, '$queryRaw'>, where: Prisma.Sql, limit: number): Promise<ClaimView[]> {
  const rows = await db.$queryRaw<Row[]>`
    SELECT c.id, c.animal_id AS "animalId", a.register_number AS "registerNumber", c.statement,
      c.share_parts AS "shareParts", c.share_of AS "shareOf", c.since, c.made_at AS "madeAt", c.proposal,
      c.proposed_at AS "proposedAt", c.awaits_claimant_since AS "awaitsClaimantSince", c.ended_at AS "endedAt", c.outcome::text AS outcome,
      (SELECT jsonb_agg(jsonb_build_object('number', p.number, 'keeperId', coalesce(p.keeper_id, o.taken_up_by_keeper),
          'outsidePartyId', p.outside_party_id, 'recordedParts', p.recorded_parts, 'proposedParts', p.proposed_parts,
          'agreedTo', p.agreed_to, 'reply', p.reply, 'repliedAt', p.replied_at) ORDER BY p.number)
        FROM ownership_claim_party p LEFT JOIN outside_party o ON o.id = p.outside_party_id
        WHERE p.claim_id = c.id) AS parties
    FROM ownership_claim c JOIN animal a ON a.id = c.animal_id
    WHERE ${where} ORDER BY c.made_at DESC, c.id DESC LIMIT ${limit}`;
  return rows.map(({ shareParts, shareOf, since, registerNumber, awaitsClaimantSince, parties, ...row }) => ({
    ...row,
    awaitsSince: awaitsClaimantSince === null ? null : dayOf(awaitsClaimantSince),
    ended: row.endedAt !== null,
    registerNumber: formatRegisterNumber(registerNumber as RegisterNumber),
    share: { parts: shareParts, of: shareOf },
    since: fromDateColumn(since),
    parties: parties.map(({ keeperId, outsidePartyId, repliedAt, ...party }) => ({
      ...party,
      owner: ownerOf(keeperId, outsidePartyId),
      replied: party.reply !== null,
      repliedAt: repliedAt === null ? null : new Date(repliedAt),
    })),
  }));
}

function ownerOf(keeperId: string | null, outsidePartyId: string | null): ClaimOwner {
  if (keeperId !== null) return { kind: 'keeper', keeperId };
  return { kind: 'outside_party', outsidePartyId: outsidePartyId ?? '' };
}

/** What a claim of this keeper on a locked animal is decided on, apart from its owners. */
export type ClaimStanding = {
  /** Has it, had it, owns it, owned it, or was a party of an accepted transfer of it. */
  readonly hasToDoWithIt: boolean;
  readonly disputed: boolean;
  readonly onTheWay: boolean;
  readonly claimedBefore: boolean;
  readonly hasItToday: boolean;
  readonly ofOpenClaim: boolean;
  readonly ofTransfer: boolean;
};

const NO_STANDING: ClaimStanding = {
  hasToDoWithIt: false,
  disputed: false,
  onTheWay: false,
  claimedBefore: false,
  hasItToday: false,
  ofOpenClaim: false,
  ofTransfer: false,
};

export async function readStanding(tx: Tx, animalId: string, keeperId: string): Promise<ClaimStanding> {
  const [row] = await tx.db.$queryRaw<ClaimStanding[]>`
    SELECT (EXISTS (SELECT 1 FROM animal_access x WHERE x.animal_id = a.id AND x.keeper_id = ${keeperId}::uuid
             AND x.relation IN ('holder', 'owner'))
         OR EXISTS (SELECT 1 FROM transfer_item i JOIN transfer t ON t.id = i.transfer_id
             WHERE i.animal_id = a.id AND t.accepted_at IS NOT NULL
               AND (t.from_keeper_id = ${keeperId}::uuid OR t.to_keeper_id = ${keeperId}::uuid))) AS "hasToDoWithIt",
      EXISTS (SELECT 1 FROM ownership o WHERE o.animal_id = a.id AND o.superseded_at IS NULL AND o.valid_to IS NULL
        AND o.state = 'disputed') AS disputed,
      EXISTS (SELECT 1 FROM transfer_item i JOIN transfer t ON t.id = i.transfer_id
        WHERE i.animal_id = a.id AND i.open AND t.state = 'sent') AS "onTheWay",
      EXISTS (SELECT 1 FROM ownership_claim c WHERE c.animal_id = a.id AND c.claimant_id = ${keeperId}::uuid
        AND c.ended_at IS NOT NULL AND NOT EXISTS (
          SELECT 1 FROM transfer_item i JOIN transfer t ON t.id = i.transfer_id
          WHERE i.animal_id = a.id AND t.state = 'received' AND t.closed_at > c.ended_at)) AS "claimedBefore",
      EXISTS (SELECT 1 FROM animal_access x WHERE x.animal_id = a.id AND x.keeper_id = ${keeperId}::uuid
        AND x.relation IN ('holder', 'owner') AND x.valid_to IS NULL) AS "hasItToday",
      EXISTS (SELECT 1 FROM ownership_claim c JOIN ownership_claim_party p ON p.claim_id = c.id
        LEFT JOIN outside_party o ON o.id = p.outside_party_id
        WHERE c.animal_id = a.id AND c.ended_at IS NULL
          AND coalesce(p.keeper_id, o.taken_up_by_keeper) = ${keeperId}::uuid) AS "ofOpenClaim",
      EXISTS (SELECT 1 FROM transfer_item i JOIN transfer t ON t.id = i.transfer_id
        WHERE i.animal_id = a.id AND i.open AND t.state = 'sent'
          AND (t.from_keeper_id = ${keeperId}::uuid OR t.to_keeper_id = ${keeperId}::uuid)) AS "ofTransfer"
    FROM animal a WHERE a.id = ${animalId}::uuid`;
  return row ?? NO_STANDING;
}

/** The animal with a register number, or null. Without a scope: say nothing of it before the claimant's standing is known. */
export async function findByRegisterNumber(tx: Tx, registerNumber: RegisterNumber): Promise<string | null> {
  return (await tx.db.animal.findUnique({ where: { registerNumber }, select: { id: true } }))?.id ?? null;
}

/** The animal a claim is about, or null. Without a scope, for the lock that comes before the read. */
export async function findClaimedAnimal(tx: Tx, claimId: string): Promise<string | null> {
  const row = await tx.db.ownershipClaim.findUnique({ where: { id: claimId }, select: { animalId: true } });
  return row?.animalId ?? null;
}

export async function insertClaim(
  tx: Tx,
  claim: {
    readonly id: string;
    readonly animalId: string;
    readonly claimantId: string;
    readonly statement: string;
    readonly share: Share;
    readonly since: Day;
  },
  parties: readonly ClaimParty[],
): Promise<void> {
  const { share, since, ...told } = claim;
  await tx.db.ownershipClaim.create({
    data: { ...told, shareParts: share.parts, shareOf: share.of, since: toDateColumn(since), madeAt: tx.now },
  });
  await tx.db.ownershipClaimParty.createMany({
    data: parties.map(({ number, owner, recordedParts }) => ({
      claimId: claim.id,
      number,
      keeperId: owner.kind === 'keeper' ? owner.keeperId : null,
      outsidePartyId: owner.kind === 'outside_party' ? owner.outsidePartyId : null,
      recordedParts,
    })),
  });
}

/** Open claims of which another party said something on or before a day and the claimant has not answered since: their ids and animals. */
export async function findUnanswered(
  tx: Tx,
  saidOn: Day,
  after: string | null,
  limit: number,
): Promise<{ id: string; animalId: string }[]> {
  return tx.db.$queryRaw`
    SELECT id, animal_id AS "animalId" FROM ownership_claim
    WHERE ended_at IS NULL AND (awaits_claimant_since AT TIME ZONE 'UTC')::date <= ${toDateColumn(saidOn)}::date
      AND (${after}::uuid IS NULL OR id > ${after}::uuid)
    ORDER BY id LIMIT ${limit}`;
}

/** Claims as the server reads them, whoever their parties are. */
export async function readClaimsById(tx: Tx, ids: readonly string[]): Promise<ClaimView[]> {
  return readClaims(tx.db, Prisma.sql`c.id = ANY(${[...ids]}::uuid[])`, ids.length);
}

/** Writes what became of a claim: a new proposal, an agreement to it, or its end. */
export async function saveClaim(tx: Tx, claim: Claim, became: 'proposed' | 'agreed' | ClaimOutcome): Promise<void> {
  const ended = became !== 'proposed' && became !== 'agreed';
  await tx.db.ownershipClaim.update({
    where: { id: claim.id },
    data: {
      proposal: claim.proposal,
      ...(claim.awaitsSince === null ? { awaitsClaimantSince: null } : {}),
      ...(became === 'proposed' && claim.awaitsSince !== null ? { awaitsClaimantSince: tx.now } : {}),
      ...(became === 'proposed' ? { proposedAt: tx.now } : {}),
      ...(ended ? { outcome: became, endedAt: tx.now } : {}),
    },
  });
  for (const { number, proposedParts, agreedTo } of claim.parties) {
    await tx.db.ownershipClaimParty.update({
      where: { claimId_number: { claimId: claim.id, number } },
      data: { proposedParts, agreedTo },
    });
  }
}

export async function saveReply(tx: Tx, claimId: string, number: number, reply: string): Promise<void> {
  await tx.db.ownershipClaimParty.update({
    where: { claimId_number: { claimId, number } },
    data: { reply, repliedAt: tx.now },
  });
  await tx.db.ownershipClaim.update({ where: { id: claimId }, data: { awaitsClaimantSince: tx.now } });
}
