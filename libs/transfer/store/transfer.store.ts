import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { toDateColumn } from '../../access/index.js';
import { actsFor, type Day, forbidden, notFound, staleVersion, type Viewer } from '../../kernel/index.js';
import { Database, insertTogether, Prisma, type Tx } from '../../platform/prisma/index.js';
import { type OfferedTransfer, type Transfer, type TransferItem } from '../core/transfer.core.js';
import { type CheckResult, checkSending } from '../checks/send-checks.core.js';
import { FINAL_STATES } from '../core/transitions.core.js';
import { readSendFacts, readSendPolicy } from '../checks/send-facts.store.js';
import { loanTermsRows } from '../loans/loan-terms-row.js';
import { letGo } from '../eggs/transfer-eggs.store.js';
import { readTransfers, type VisibleTransfer, visibleTo } from './transfer-row.js';

export { type VisibleTransfer } from './transfer-row.js';

/** What the giver reads in place of the keeper who took a record up with a claim code. */
export const TAKEN_UP_LABEL = 'Taken up in the registry';

/** Reads and writes transfers. */
@Injectable()
export class TransferStore {
  constructor(private readonly database: Database) {}

  /** One transfer the viewer may see; throws NOT_FOUND. */
  async getVisible(viewer: Viewer, id: string): Promise<VisibleTransfer> {
    const where = Prisma.sql`t.id = ${id}::uuid AND ${visibleTo(viewer)}`;
    const [found] = await readTransfers(this.database.client, where);
    if (found === undefined) throw notFound('transfer');
    return found;
  }

  /** Transfers of one keeper, in either direction, newest offer first; one more than the page asks for. */
  async findPage(
    viewer: Viewer,
    keeperId: string,
    first: number,
    key: { readonly at: Date; readonly id: string } | null,
  ): Promise<VisibleTransfer[]> {
    const after =
      key === null ? Prisma.empty : Prisma.sql`AND (t.offered_at, t.id) < (${key.at}::timestamptz, ${key.id}::uuid)`;
    return readTransfers(
      this.database.client,
      Prisma.sql`${visibleTo(viewer)}
        AND (t.from_keeper_id = ${keeperId}::uuid OR t.to_keeper_id = ${keeperId}::uuid) ${after}`,
      Prisma.sql`ORDER BY t.offered_at DESC, t.id DESC LIMIT ${first + 1}`,
    );
  }

  /**
   * The transfer, locked against other writers until the transaction ends. Throws NOT_FOUND for what the viewer may not
   * see and STALE_VERSION when the viewer read another version.
   */
  async lock(tx: Tx, viewer: Viewer, id: string, expectedVersion?: number | null): Promise<Transfer> {
    // The lock first and the read after it, in a statement of its own: items and arrivals would be those of before the wait.
    const where = Prisma.sql`t.id = ${id}::uuid AND ${visibleTo(viewer)}`;
    await tx.db.$queryRaw`SELECT 1 FROM transfer t WHERE ${where} FOR NO KEY UPDATE`;
    const [found] = await readTransfers(tx.db, where);
    if (found === undefined) throw notFound('transfer');
    const { transfer } = found;
    if (expectedVersion !== undefined && expectedVersion !== null && expectedVersion !== transfer.version) {
      throw staleVersion('transfer', { expected: expectedVersion, current: transfer.version });
    }
    return transfer;
  }

  /** The transfer to an outside party that waits to be taken up under a code, locked; null when there is none. */
  async lockByClaimHash(tx: Tx, claimCodeHash: string): Promise<Transfer | null> {
    await tx.db.$queryRaw`SELECT 1 FROM transfer t WHERE t.claim_code_hash = ${claimCodeHash} FOR NO KEY UPDATE`;
    const [found] = await readTransfers(
      tx.db,
      Prisma.sql`t.claim_code_hash = ${claimCodeHash} AND t.taken_up_at IS NULL AND t.to_outside_party_id IS NOT NULL
        AND t.state NOT IN ('declined', 'withdrawn', 'expired', 'cancelled', 'failed')`,
    );
    return found?.transfer ?? null;
  }

  /** Open offers whose day to answer was before `today`, at most `limit` of them, locked in id order. No scope: for the server. */
  async lockOverdue(tx: Tx, today: Day, limit: number): Promise<Transfer[]> {
    const due = await tx.db.$queryRaw<{ id: string }[]>`
      SELECT t.id FROM transfer t
      WHERE t.state = 'offered' AND t.answer_by < ${toDateColumn(today)}::date
      ORDER BY t.id LIMIT ${limit} FOR NO KEY UPDATE`;
    if (due.length === 0) return [];
    const ids = due.map(({ id }) => id);
    const read = await readTransfers(tx.db, Prisma.sql`t.id = ANY(${ids}::uuid[])`, Prisma.sql`ORDER BY t.id`);
    return read.map(({ transfer }) => transfer);
  }

  /** Writes a new offer. A second open transfer of an animal or an egg meets `transfer_item_one_open` or `transfer_egg_one_open`. */
  async insert(tx: Tx, transfer: OfferedTransfer, claimCodeHash: string | null): Promise<void> {
    const { id: transferId, price } = transfer;
    await insertTogether(tx.db, [
      {
        into: 'transfer',
        rows: [
          {
            id: transferId,
            state: transfer.state,
            kind: transfer.kind,
            fromKeeperId: transfer.fromKeeperId,
            ...receiverColumns(transfer),
            message: transfer.message,
            priceMinor: price === null ? null : BigInt(price.minor),
            priceCurrency: price?.currency ?? null,
            offeredAt: transfer.offeredAt,
            answerBy: dateOrNull(transfer.answerBy),
            transitRisk: transfer.transitRisk,
            title: transfer.title,
            dueBack: dateOrNull(transfer.dueBack),
            claimCodeHash,
            version: 1,
          },
        ],
      },
      {
        into: 'transferItem',
        rows: transfer.items.map(({ id, animalId, count, gravid, share }) => ({
          id,
          transferId,
          animalId,
          count,
          gravid,
          shareParts: share?.parts ?? null,
          shareOf: share?.of ?? null,
          open: true,
        })),
      },
      { into: 'transferEgg', rows: transfer.eggs.map(({ eggId }) => ({ transferId, eggId, open: true })) },
      {
        into: 'transferInstalment',
        rows: transfer.instalments.map(({ dueOn, minor }, i) => ({
          transferId,
          number: i + 1,
          dueOn: toDateColumn(dueOn),
          minor: BigInt(minor),
        })),
      },
      { into: 'loanTerms', rows: loanTermsRows(transfer) },
      {
        into: 'transferCondition',
        rows: transfer.conditions.map(({ id, kind, documentKind, text }) => ({
          id,
          transferId,
          kind,
          documentKind,
          text,
        })),
      },
    ]);
  }

  /**
   * Writes what a decision made of a transfer that was read at `readVersion`, and moves its version on. Throws
   * STALE_VERSION when somebody else wrote in between, which the lock should have prevented.
   */
  async save(tx: Tx, readVersion: number, transfer: Transfer): Promise<void> {
    const failure = 'failure' in transfer ? transfer.failure : null;
    const { toKeeperId, toOutsidePartyId } = receiverColumns(transfer);
    const count = await tx.db.$executeRaw`
      UPDATE transfer SET state = ${transfer.state}::transfer_state,
        to_keeper_id = ${toKeeperId}::uuid, to_outside_party_id = ${toOutsidePartyId}::uuid,
        accepted_at = ${'acceptedAt' in transfer ? transfer.acceptedAt : null}::timestamptz,
        sent_on = ${'sentOn' in transfer ? toDateColumn(transfer.sentOn) : null}::date,
        received_on = ${'receivedOn' in transfer ? toDateColumn(transfer.receivedOn) : null}::date,
        closed_at = ${'closedAt' in transfer ? transfer.closedAt : null}::timestamptz,
        taken_up_at = ${transfer.takenUpAt}::timestamptz, ended_reason = ${transfer.endedReason},
        cancelled_by = ${'cancelledBy' in transfer ? transfer.cancelledBy : null}::transfer_side,
        failure = ${failure?.kind ?? null}::transfer_failure,
        failure_declared_by = ${failure?.declaredBy ?? null}::transfer_side,
        failure_declared_at = ${failure?.declaredAt ?? null}::timestamptz,
        way = ${transfer.way}::hand_over_way, carrier = ${transfer.carrier}, tracking = ${transfer.tracking},
        version = version + 1
      WHERE id = ${transfer.id}::uuid AND version = ${readVersion}`;
    if (count !== 1) throw staleVersion('transfer');
    if (FINAL_STATES.includes(transfer.state) && transfer.state !== 'received') {
      await tx.db.transferItem.updateMany({ where: { transferId: transfer.id }, data: { open: false } });
      await letGo(tx, transfer.id);
    }
  }

  /** Writes what the receiver said of a condition. */
  async settleCondition(tx: Tx, id: string, settledAs: 'met' | 'waived'): Promise<void> {
    await tx.db.transferCondition.update({ where: { id }, data: { settledAs, settledAt: tx.now } });
  }

  /**
   * What stands against sending a transfer on a day. FORBIDDEN for the receiver: it tells of documents and quarantine, which are
   * the giver's to know; NOT_FOUND for everybody else.
   */
  async checkSending(viewer: Viewer, id: string, on: Day): Promise<CheckResult[]> {
    const { transfer } = await this.getVisible(viewer, id);
    if (!actsFor(viewer, transfer.fromKeeperId))
      throw forbidden('Only the giver reads what stands against sending a transfer.');
    // Nothing is sent any more, and what is known of the animals since is not the giver's to ask.
    if (FINAL_STATES.includes(transfer.state)) return [];
    const { client } = this.database;
    const [facts, policy] = [await readSendFacts(client, transfer, on), await readSendPolicy(client, transfer)];
    return checkSending(transfer, facts, policy, on);
  }

  /** Writes how items arrived, or that they were left out; either way they are free for another transfer. */
  async saveItems(tx: Tx, items: readonly TransferItem[]): Promise<void> {
    const rows = items.map(({ id, receivedOn, notSent, note, titleDue }) => ({
      id,
      receivedOn,
      notSent,
      note,
      titleDue,
    }));
    const arrivals = items.flatMap(({ id, arrivals }) => arrivals.map((arrival) => ({ id, ...arrival })));
    await tx.db.$executeRaw`
      WITH saved AS (
        UPDATE transfer_item i SET open = false, received_on = r."receivedOn", not_sent = r."notSent", note = r.note, title_due = r."titleDue"
        FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb)
          AS r(id uuid, "receivedOn" date, "notSent" boolean, note text, "titleDue" boolean)
        WHERE i.id = r.id)
      INSERT INTO transfer_arrival (item_id, state, count)
      SELECT id, state, count FROM jsonb_to_recordset(${JSON.stringify(arrivals)}::jsonb)
        AS a(id uuid, state arrival_state, count int)`;
  }

  /** Which of these files are pictures that the keeper sent for the animal and has not withdrawn. */
  async findOwnFiles(tx: Tx, keeperId: string, animalId: string, fileIds: readonly string[]): Promise<string[]> {
    const rows = await tx.db.animalFile.findMany({
      where: { id: { in: [...fileIds] }, keeperId, animalId, withdrawnAt: null, sharedSha256: { not: null } },
      select: { id: true },
    });
    return rows.map(({ id }) => id);
  }

  /** The cleaned copy of a picture that its keeper has not withdrawn, or null. Whoever asks has made sure that it is shown. */
  async findPicture(fileId: string): Promise<{ sha256: string; size: number } | null> {
    const row = await this.database.client.animalFile.findFirst({
      where: { id: fileId, withdrawnAt: null },
      select: { sharedSha256: true, sharedSize: true },
    });
    const { sharedSha256: sha256 = null, sharedSize: size = null } = row ?? {};
    return sha256 === null || size === null ? null : { sha256, size };
  }

  /** Adds pictures of how an item arrived; one that is there stays. */
  async insertPhotos(tx: Tx, itemId: string, fileIds: readonly string[]): Promise<void> {
    const data = fileIds.map((fileId) => ({ itemId, fileId }));
    await tx.db.transferArrivalPhoto.createMany({ data, skipDuplicates: true });
  }

  /** Records somebody without an account, for the keeper who deals with them. Gives the new id. */
  async insertOutsideParty(
    tx: Tx,
    party: { recordedFor: string; name: string; contact: string | null },
  ): Promise<string> {
    const id = uuid();
    await tx.db.outsideParty.create({ data: { id, ...party, createdAt: tx.now } });
    return id;
  }

  /** Notes which keeper an outside party turned out to be. */
  async markTakenUp(tx: Tx, outsidePartyId: string, keeperId: string): Promise<void> {
    await tx.db.outsideParty.update({ where: { id: outsidePartyId }, data: { takenUpByKeeper: keeperId } });
  }
}

function dateOrNull(day: Day | null): Date | null {
  return day === null ? null : toDateColumn(day);
}

function receiverColumns({ receiver }: Pick<Transfer, 'receiver'>) {
  return {
    toKeeperId: receiver.kind === 'keeper' ? receiver.keeperId : null,
    toOutsidePartyId: receiver.kind === 'outside_party' ? receiver.outsidePartyId : null,
  };
}
