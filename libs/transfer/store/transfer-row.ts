import { fromDateColumn } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import {
  type Arrival,
  type Receiver,
  type Transfer,
  type TransferItem,
  type TransferKind,
  type TransferState,
} from '../core/transfer.core.js';

/** A row of the transfer table with its items, as the stores read it. */
export type TransferRow = {
  id: string;
  state: TransferState;
  kind: TransferKind;
  fromKeeperId: string;
  toKeeperId: string | null;
  toOutsidePartyId: string | null;
  message: string | null;
  priceMinor: bigint | null;
  priceCurrency: string | null;
  offeredAt: Date;
  acceptedAt: Date | null;
  sentOn: Date | null;
  receivedOn: Date | null;
  closedAt: Date | null;
  takenUpAt: Date | null;
  version: number;
  items: { id: string; animalId: string; count: number; arrivals: Arrival[] }[];
};

/** What is read with every transfer; the items in the order they were offered. */
export const WITH_ITEMS = {
  items: {
    orderBy: { id: 'asc' },
    select: { id: true, animalId: true, count: true, arrivals: { select: { state: true, count: true } } },
  },
} as const;

/** The transfer a row stands for. Throws Error for a row whose columns do not fit its state. */
export function toTransfer(row: TransferRow): Transfer {
  const terms = {
    id: row.id,
    kind: row.kind,
    fromKeeperId: row.fromKeeperId,
    receiver: toReceiver(row),
    message: row.message,
    price:
      row.priceMinor === null || row.priceCurrency === null
        ? null
        : { minor: Number(row.priceMinor), currency: row.priceCurrency },
    offeredAt: row.offeredAt,
    takenUpAt: row.takenUpAt,
    items: row.items.map((item): TransferItem => ({ ...item })),
    version: row.version,
  };
  switch (row.state) {
    case 'offered':
      return { ...terms, state: 'offered' };
    case 'accepted':
      return { ...terms, state: 'accepted', acceptedAt: told(row, row.acceptedAt) };
    case 'sent':
      return { ...terms, state: 'sent', acceptedAt: told(row, row.acceptedAt), sentOn: dayTold(row, row.sentOn) };
    case 'received':
      return {
        ...terms,
        state: 'received',
        acceptedAt: told(row, row.acceptedAt),
        sentOn: dayTold(row, row.sentOn),
        receivedOn: dayTold(row, row.receivedOn),
        closedAt: told(row, row.closedAt),
      };
    case 'declined':
    case 'withdrawn':
      return { ...terms, state: row.state, acceptedAt: row.acceptedAt, closedAt: told(row, row.closedAt) };
  }
}

function toReceiver(row: TransferRow): Receiver {
  if (row.toKeeperId !== null) return { kind: 'keeper', keeperId: row.toKeeperId };
  return { kind: 'outside_party', outsidePartyId: told(row, row.toOutsidePartyId) };
}

function told<T>(row: TransferRow, value: T | null): T {
  if (value === null) throw new Error(`Transfer ${row.id} is ${row.state} but lacks what this state needs.`);
  return value;
}

function dayTold(row: TransferRow, value: Date | null): Day {
  return fromDateColumn(told(row, value));
}
