import { followYoung, type YoungOfClutch } from '../../breeding/index.js';
import { followLots, setOwners } from '../../custody/index.js';
import { decide, type Decision, refuse } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { tellTransfer } from '../jobs/tell-transfer.job.js';
import { sharesOfYoung } from './split.core.js';
import { loanOfClutch } from './split-loan.core.js';
import { type ClutchSplit, splitClutches } from './split-state.core.js';
import {
  clutchesOfYoung,
  type DividedLoan,
  findLoanOfClutch,
  findMisplaced,
  findSolelyOwned,
  followLot,
  insertYoung,
  lockDividedLoan,
  readClutchOrigin,
  readTallies,
} from './split.store.js';
import { youngOfLoan } from './split-ledger.js';

/**
 * Young of a clutch of a loan belong to both sides in the agreed parts as soon as they are recorded, whichever side records them: there
 * is no time in which one side could give away what is the other's. Only what is its own comes under the terms by its word, with
 * whichever of its recorder's keepers it is put: an animal of the other side that it keeps, or of a third keeper, stays whose it is.
 */
async function born(tx: Tx, { clutchId, keeperId, eggsWith, animalIds }: YoungOfClutch): Promise<Decision<null>> {
  const transferId = (await findLoanOfClutch(tx, clutchId)) ?? (await findLoan(tx, clutchId, animalIds));
  const loan = transferId === null ? null : await lockDividedLoan(tx, transferId);
  const said = [keeperId, eggsWith];
  const recordedBy = said.find((each) => each === loan?.lender || each === loan?.borrower);
  if (loan === null || recordedBy === undefined) return decide(null);
  const owned = await findSolelyOwned(tx, animalIds);
  const fresh = owned.filter((each) => said.includes(each.keeperId));
  const offered = fresh.filter(({ open }) => open);
  if (offered.length > 0) return refuseOffered(offered.map(({ animalId }) => animalId));
  const misplaced = await findMisplaced(tx, loan.transferId, clutchId, animalIds);
  const young = [...fresh, ...misplaced];
  if (young.length === 0) return decide(null);
  const before = await turnOf(tx, loan, clutchId);
  const ids = young.map(({ animalId }) => animalId);
  const number = await insertYoung(tx, loan.transferId, clutchId, ids);
  const owners = sharesOfYoung(loan.split).map(({ side, parts }) => ({ keeperId: loan[side], parts }));
  const shares = owners.map(({ keeperId, parts }) => ({ owner: { kind: 'keeper' as const, keeperId }, parts }));
  for (const { animalId, since } of fresh) {
    const changed = await setOwners(tx, { animalId, from: since, shares });
    if (!changed.ok) return changed;
  }
  await tx.ledger.append(youngOfLoan, {
    subjects: [loan.transferId, clutchId, ...ids],
    body: {
      transferId: loan.transferId,
      clutchId,
      number,
      method: loan.split.method,
      owners: owners.map(({ keeperId, parts }) => ({ ownerId: keeperId, parts })),
      young: young.map(({ animalId, since }) => ({ animalId, from: since })),
    },
  });
  await tellAfterBirth(tx, loan, recordedBy, before, await turnOf(tx, loan, clutchId));
  return decide(null);
}

/** Divided, what is offered would not be what was offered; left whole, an offer that is withdrawn again would keep it out of the terms. */
function refuseOffered(animalIds: readonly string[]): Decision<null> {
  const remedy = 'Withdraw the offer first, or record the hatching once the transfer is over.';
  const message = 'As one of the young of a loan it would be divided by the terms, and it is in an open transfer.';
  return refuse('HATCHING_LOAN_OFFERED', `${message} ${remedy}`, {
    blockers: animalIds.map((id) => ({ kind: 'animal', id, remedy })),
  });
}

async function findLoan(tx: Tx, clutchId: string, animalIds: readonly string[]): Promise<string | null> {
  const origin = await readClutchOrigin(tx, clutchId, animalIds);
  return origin === null ? null : loanOfClutch(origin);
}

/** The keeper whose turn it is to pick of a clutch, or null. */
export async function turnOf(tx: Tx, loan: DividedLoan, clutchId: string): Promise<string | null> {
  const clutch = await readClutchSplit(tx, loan, clutchId);
  const [side] = clutch?.turns ?? [];
  return side === undefined ? null : loan[side];
}

/** How the young of one clutch of a locked loan are divided. */
export async function readClutchSplit(tx: Tx, loan: DividedLoan, clutchId: string): Promise<ClutchSplit | undefined> {
  const clutches = splitClutches(loan.split, await readTallies(tx.db, loan));
  return clutches.find((clutch) => clutch.clutchId === clutchId);
}

/** Whose turn it has become hears so, and of the two the one who did not record the young hears of them. */
async function tellAfterBirth(
  tx: Tx,
  { transferId, lender, borrower }: DividedLoan,
  recordedBy: string,
  before: string | null,
  turn: string | null,
): Promise<void> {
  const other = recordedBy === lender ? borrower : lender;
  if (turn !== null && turn !== before)
    await tx.outbox.send(tellTransfer, { transferId, keeperId: turn, what: 'pick_due' });
  if (turn !== other || turn === before)
    await tx.outbox.send(tellTransfer, { transferId, keeperId: other, what: 'young_recorded' });
}

/** Individuals raised out of a lot of a loan's young, and lots split off it, are divided with it. */
async function parted(tx: Tx, { fromId, toIds }: { fromId: string; toIds: readonly string[] }): Promise<void> {
  await followLot(tx, fromId, toIds);
}

/** Lots whose young are divided differently stay apart: of one that is joined nobody could tell any more whose they are. */
async function joining(tx: Tx, { fromId, intoId }: { fromId: string; intoId: string }): Promise<Decision<null>> {
  const clutches = await clutchesOfYoung(tx, [fromId, intoId]);
  if (clutches.get(fromId) === clutches.get(intoId)) return decide(null);
  const remedy = 'Keep them apart until its young are divided.';
  return refuse('LOT_JOIN_LOAN_YOUNG', `One of the lots is of a clutch of a loan, the other is not of it. ${remedy}`, {
    blockers: [{ kind: 'animal', id: clutches.has(fromId) ? fromId : intoId, remedy }],
  });
}

followYoung(born);
followLots({ parted, joining });
