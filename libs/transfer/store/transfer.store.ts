import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { toDateColumn } from '../../access/index.js';
import { notFound, staleVersion, type Viewer } from '../../kernel/index.js';
import { type Page } from '../../platform/graphql/index.js';
import { Database, type Tx } from '../../platform/prisma/index.js';
import { type OfferedTransfer, type Transfer } from '../core/transfer.core.js';
import { FINAL_STATES } from '../core/transitions.core.js';
import { toTransfer, WITH_ITEMS } from './transfer-row.js';

/** What the giver reads in place of the keeper who took a record up with a claim code. */
export const TAKEN_UP_LABEL = 'Taken up in the registry';

/** A transfer as one of its parties sees it: with the names of both. */
export type VisibleTransfer = { readonly transfer: Transfer; readonly fromLabel: string; readonly toLabel: string };

/** The scope of every read: a transfer is visible to those who act for one of its two parties. Agrees with `maySee`. */
export function visibleTransfers(viewer: Viewer) {
  const keeperIds = viewer.keepers.map((keeper) => keeper.keeperId);
  return { OR: [{ fromKeeperId: { in: keeperIds } }, { toKeeperId: { in: keeperIds } }] };
}

const WITH_PARTIES = {
  ...WITH_ITEMS,
  fromKeeper: { select: { name: true } },
  toKeeper: { select: { name: true } },
  toOutsideParty: { select: { name: true } },
} as const;

/** Reads and writes transfers. */
@Injectable()
export class TransferStore {
  constructor(private readonly database: Database) {}

  /** One transfer the viewer may see; throws NOT_FOUND. */
  async getVisible(viewer: Viewer, id: string): Promise<VisibleTransfer> {
    const row = await this.database.client.transfer.findFirst({
      where: { AND: [{ id }, visibleTransfers(viewer)] },
      include: WITH_PARTIES,
    });
    if (row === null) throw notFound('transfer');
    return toVisible(row);
  }

  /** Transfers of one keeper, in either direction, newest offer first; one more than the page asks for. */
  async findPage(viewer: Viewer, keeperId: string, page: Page): Promise<VisibleTransfer[]> {
    const [at, id] = page.after ?? [];
    const rows = await this.database.client.transfer.findMany({
      where: {
        AND: [
          visibleTransfers(viewer),
          { OR: [{ fromKeeperId: keeperId }, { toKeeperId: keeperId }] },
          at === undefined || id === undefined
            ? {}
            : { OR: [{ offeredAt: { lt: new Date(at) } }, { offeredAt: new Date(at), id: { lt: id } }] },
        ],
      },
      include: WITH_PARTIES,
      orderBy: [{ offeredAt: 'desc' }, { id: 'desc' }],
      take: page.first + 1,
    });
    return rows.map(toVisible);
  }

  /**
   * The transfer, locked against other writers until the transaction ends. Throws NOT_FOUND for what the viewer may not
   * see and STALE_VERSION when the viewer read another version.
   */
  async lock(tx: Tx, viewer: Viewer, id: string, expectedVersion?: number | null): Promise<Transfer> {
    // The lock first and the read after it: what is decided on was read when nobody else could change it.
    const keeperIds = viewer.keepers.map((keeper) => keeper.keeperId);
    await tx.db.$queryRaw`
      SELECT id FROM transfer
      WHERE id = ${id}::uuid AND (from_keeper_id = ANY(${keeperIds}::uuid[]) OR to_keeper_id = ANY(${keeperIds}::uuid[]))
      FOR NO KEY UPDATE`;
    const row = await tx.db.transfer.findFirst({
      where: { AND: [{ id }, visibleTransfers(viewer)] },
      include: WITH_ITEMS,
    });
    if (row === null) throw notFound('transfer');
    if (expectedVersion !== undefined && expectedVersion !== null && expectedVersion !== row.version) {
      throw staleVersion('transfer', { expected: expectedVersion, current: row.version });
    }
    return toTransfer(row);
  }

  /** The transfer to an outside party that waits to be taken up under a code, locked; null when there is none. */
  async lockByClaimHash(tx: Tx, claimCodeHash: string): Promise<Transfer | null> {
    await tx.db.$queryRaw`SELECT id FROM transfer WHERE claim_code_hash = ${claimCodeHash} FOR NO KEY UPDATE`;
    const row = await tx.db.transfer.findFirst({
      where: {
        claimCodeHash,
        takenUpAt: null,
        toOutsidePartyId: { not: null },
        state: { notIn: ['declined', 'withdrawn'] },
      },
      include: WITH_ITEMS,
    });
    return row === null ? null : toTransfer(row);
  }

  /** Writes a new offer. A second open transfer of an animal meets the constraint `transfer_item_one_open`. */
  async insert(tx: Tx, transfer: OfferedTransfer, claimCodeHash: string | null): Promise<void> {
    await tx.db.transfer.create({
      data: {
        id: transfer.id,
        state: transfer.state,
        kind: transfer.kind,
        fromKeeperId: transfer.fromKeeperId,
        ...receiverColumns(transfer),
        message: transfer.message,
        priceMinor: transfer.price === null ? null : BigInt(transfer.price.minor),
        priceCurrency: transfer.price?.currency ?? null,
        offeredAt: transfer.offeredAt,
        claimCodeHash,
      },
    });
    await tx.db.transferItem.createMany({
      data: transfer.items.map(({ id, animalId, count }) => ({
        id,
        transferId: transfer.id,
        animalId,
        count,
        open: true,
      })),
    });
  }

  /**
   * Writes what a decision made of a transfer that was read at `readVersion`, and moves its version on. Throws
   * STALE_VERSION when somebody else wrote in between, which the lock should have prevented.
   */
  async save(tx: Tx, readVersion: number, transfer: Transfer): Promise<void> {
    const { count } = await tx.db.transfer.updateMany({
      where: { id: transfer.id, version: readVersion },
      data: {
        state: transfer.state,
        ...receiverColumns(transfer),
        acceptedAt: 'acceptedAt' in transfer ? transfer.acceptedAt : null,
        sentOn: 'sentOn' in transfer ? toDateColumn(transfer.sentOn) : null,
        receivedOn: 'receivedOn' in transfer ? toDateColumn(transfer.receivedOn) : null,
        closedAt: 'closedAt' in transfer ? transfer.closedAt : null,
        takenUpAt: transfer.takenUpAt,
        version: readVersion + 1,
      },
    });
    if (count !== 1) throw staleVersion('transfer');
    if (FINAL_STATES.includes(transfer.state)) {
      await tx.db.transferItem.updateMany({ where: { transferId: transfer.id }, data: { open: false } });
    }
  }

  /** Writes how the items of a transfer arrived. */
  async insertArrivals(tx: Tx, transfer: Transfer): Promise<void> {
    await tx.db.transferArrival.createMany({
      data: transfer.items.flatMap((item) =>
        item.arrivals.map(({ state, count }) => ({ itemId: item.id, state, count })),
      ),
    });
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

  /** Throws NOT_FOUND when no keeper has the id. */
  async requireKeeper(tx: Tx, id: string): Promise<void> {
    const keeper = await tx.db.keeper.findUnique({ where: { id }, select: { id: true } });
    if (keeper === null) throw notFound('keeper');
  }
}

function receiverColumns({ receiver }: Pick<Transfer, 'receiver'>) {
  return {
    toKeeperId: receiver.kind === 'keeper' ? receiver.keeperId : null,
    toOutsidePartyId: receiver.kind === 'outside_party' ? receiver.outsidePartyId : null,
  };
}

type RowWithParties = Parameters<typeof toTransfer>[0] & {
  fromKeeper: { name: string };
  toKeeper: { name: string } | null;
  toOutsideParty: { name: string } | null;
};

function toVisible(row: RowWithParties): VisibleTransfer {
  return {
    transfer: toTransfer(row),
    fromLabel: row.fromKeeper.name,
    toLabel: (row.toKeeper ?? row.toOutsideParty)?.name ?? '',
  };
}
