import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { fromDateColumn, fromDateColumnOrNull, toDateColumn } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { Database, type Tx } from '../../platform/prisma/index.js';
import { type PairingState } from '../core/pairing.core.js';

/** A planned pairing. */
export type Pairing = {
  readonly id: string;
  readonly keeperId: string;
  readonly damId: string;
  readonly sireId: string;
  readonly state: PairingState;
  readonly from: Day;
  readonly until: Day | null;
  readonly note: string | null;
  readonly version: number;
};

/** Reads planned pairings for their own keeper, and nobody else. */
@Injectable()
export class PairingReadStore {
  constructor(private readonly database: Database) {}

  /** A page of a keeper's pairings, last planned first, with one more than asked where there is one. The caller acts for the keeper. */
  async pageOfKeeper(keeperId: string, first: number, beforeId: string | null): Promise<Pairing[]> {
    const rows = await this.database.client.pairing.findMany({
      where: { keeperId, ...(beforeId === null ? {} : { id: { lt: beforeId } }) },
      orderBy: { id: 'desc' },
      take: first + 1,
    });
    return rows.map(toPairing);
  }

  /** One pairing of one of the keepers, or null. */
  async findOwn(keeperIds: readonly string[], id: string): Promise<Pairing | null> {
    const row = await this.database.client.pairing.findFirst({ where: { id, keeperId: { in: [...keeperIds] } } });
    return row === null ? null : toPairing(row);
  }
}

/** Adds a plan and gives its id. */
export async function insertPairing(tx: Tx, plan: Omit<Pairing, 'id' | 'state' | 'version'>): Promise<string> {
  const id = uuid();
  const { from, until, ...columns } = plan;
  await tx.db.pairing.create({
    data: {
      id,
      ...columns,
      from: toDateColumn(from),
      until: until === null ? null : toDateColumn(until),
      recordedAt: tx.now,
      recordedBy: tx.actorId ?? plan.keeperId,
      changedAt: tx.now,
    },
  });
  return id;
}

/** A plan of one of the keepers, inside a transaction. */
export async function findOwnPairing(tx: Tx, keeperIds: readonly string[], id: string): Promise<Pairing | null> {
  const row = await tx.db.pairing.findFirst({ where: { id, keeperId: { in: [...keeperIds] } } });
  return row === null ? null : toPairing(row);
}

/** Moves a plan on; false when somebody else changed it since it was read. */
export async function setPairingState(tx: Tx, plan: Pairing, state: PairingState, until: Day | null): Promise<boolean> {
  const { count } = await tx.db.pairing.updateMany({
    where: { id: plan.id, version: plan.version },
    data: {
      state,
      until: until === null ? null : toDateColumn(until),
      changedAt: tx.now,
      version: { increment: 1 },
    },
  });
  return count === 1;
}

function toPairing(row: Omit<Pairing, 'from' | 'until'> & { from: Date; until: Date | null }): Pairing {
  return {
    id: row.id,
    keeperId: row.keeperId,
    damId: row.damId,
    sireId: row.sireId,
    state: row.state,
    from: fromDateColumn(row.from),
    until: fromDateColumnOrNull(row.until),
    note: row.note,
    version: row.version,
  };
}
