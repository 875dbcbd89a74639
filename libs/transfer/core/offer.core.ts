import { type Blocker, compareDays, type Day, type Decision, decide, refuse } from '../../kernel/index.js';
import { loanTermsProblem } from '../loans/loan-terms.core.js';
import { titleProblem } from '../title/title.core.js';
import { type AnimalAtHand, type OfferedTransfer, type TransferTerms } from './transfer.core.js';

/** One animal, or a lot and how many of it (absent = all of it). */
export type OfferedItem = { readonly animalId: string; readonly count?: number | undefined };

/** A lot of which only a part is offered: `count` animals go into a lot of their own first. */
export type SplitBeforeOffer = { readonly lotId: string; readonly count: number };

/** Which lots are split, and how many animals each item offers. */
export type OfferPlan = {
  readonly splits: readonly SplitBeforeOffer[];
  readonly items: readonly { readonly animalId: string; readonly count: number; readonly split: boolean }[];
};

/** Most items of one transfer: a lock is held on each animal until the transaction ends. */
export const MAX_ITEMS = 100;

/**
 * Whether the giver may hand these animals over, and which lots are split for it. `animals` are the facts of every
 * animal of `items`, read under lock. All animals in the way are named at once. Who is `returning` what it borrowed need not
 * own it.
 */
export function planOffer(
  giverId: string,
  items: readonly OfferedItem[],
  animals: ReadonlyMap<string, AnimalAtHand>,
  returning = false,
): Decision<OfferPlan> {
  if (items.length === 0) return refuse('TRANSFER_EMPTY', 'A transfer needs at least one animal or lot.');
  if (new Set(items.map((item) => item.animalId)).size < items.length) {
    return refuse('TRANSFER_ITEM_TWICE', 'An animal is named twice. Name it once; of a lot give the whole number.');
  }
  const problems = items.flatMap((item) => {
    const animal = animals.get(item.animalId);
    return animal === undefined ? [] : (offerProblem(giverId, animal, item.count, returning) ?? []);
  });
  const [first] = problems;
  if (first !== undefined) {
    const message =
      problems.length === 1 ? first.message : `${problems.length} animals cannot be offered. ${first.message}`;
    return refuse(first.rule, message, { blockers: problems.map((problem) => problem.blocker) });
  }
  const planned = items.map((item) => {
    const whole = animals.get(item.animalId)?.count ?? 1;
    const count = item.count ?? whole;
    return { animalId: item.animalId, count, split: count < whole };
  });
  return decide({
    splits: planned.filter((item) => item.split).map((item) => ({ lotId: item.animalId, count: item.count })),
    items: planned,
  });
}

type Problem = { rule: Uppercase<string>; message: string; blocker: Blocker };

function problem(rule: Uppercase<string>, animal: AnimalAtHand, message: string, remedy: string): Problem {
  return { rule, message: `${message} ${remedy}`, blocker: { kind: 'animal', id: animal.id, remedy } };
}

function offerProblem(
  giverId: string,
  animal: AnimalAtHand,
  count: number | undefined,
  returning: boolean,
): Problem | null {
  const gone = goneProblem(giverId, animal);
  if (gone !== null) return gone;
  if (animal.openTransferId !== null) {
    const remedy = 'Finish or withdraw that transfer first.';
    const text = `The animal is in another open transfer. ${remedy}`;
    return { rule: 'TRANSFER_OPEN', message: text, blocker: { kind: 'transfer', id: animal.openTransferId, remedy } };
  }
  if (animal.ownership === 'disputed') {
    return problem(
      'TRANSFER_OWNER_DISPUTED',
      animal,
      'Whose property the animal is, is disputed.',
      'Settle the ownership first.',
    );
  }
  if (animal.ownership === 'not_owner' && !returning) {
    return problem(
      'TRANSFER_NOT_OWNED',
      animal,
      'The giver keeps this animal but does not own a share of it.',
      'Return it to an owner; only an owner gives it to somebody else.',
    );
  }
  if (animal.undivided && !returning) {
    return problem(
      'TRANSFER_YOUNG_UNDIVIDED',
      animal,
      'It is one of the young of a loan that nobody has picked yet.',
      'Pick first; only its owner gives it to somebody else.',
    );
  }
  if (count !== undefined && count > animal.count) {
    return problem(
      'TRANSFER_TOO_MANY',
      animal,
      `Only ${animal.count} of it are there.`,
      `Offer ${animal.count} or fewer.`,
    );
  }
  return null;
}

/**
 * What keeps an animal from being handed over at any step: not with the giver, dead or lost, an empty lot. Of an animal
 * that is not the giver's to know nothing more is said.
 */
export function goneProblem(giverId: string, animal: AnimalAtHand): Problem | null {
  const notHeld = (): Problem =>
    problem(
      'TRANSFER_NOT_HELD',
      animal,
      'The giver does not hold this animal.',
      'Only the present holder can offer it.',
    );
  if (!animal.knownToGiver) return notHeld();
  if (animal.kind === 'lot' && animal.count === 0) {
    return problem('TRANSFER_LOT_EMPTY', animal, 'The lot is empty.', 'Take it out, or correct its count first.');
  }
  if (animal.fate !== 'alive') {
    const fate = animal.fate.replaceAll('_', ' ');
    return problem(
      'TRANSFER_ANIMAL_GONE',
      animal,
      `The animal is recorded as ${fate}.`,
      'Take it out, or correct its record first.',
    );
  }
  return animal.holderKeeperId === giverId ? null : notHeld();
}

/** What is agreed with an offer; everything else of a transfer comes later. */
export type OfferTerms = Omit<
  TransferTerms,
  'version' | 'takenUpAt' | 'carrier' | 'tracking' | 'way' | 'endedReason' | 'payments' | 'paidUpOn' | 'countersigning'
>;

/** The offered transfer itself, once its plan stands. A keeper cannot give to itself, and an answer is due today or later. */
export function offerTransfer(terms: OfferTerms, today: Day): Decision<OfferedTransfer> {
  if (terms.receiver.kind === 'keeper' && terms.receiver.keeperId === terms.fromKeeperId) {
    return refuse('TRANSFER_TO_SELF', 'Giver and receiver are the same keeper. Choose another receiver.');
  }
  if (terms.kind === 'gift' && terms.price !== null) {
    return refuse('TRANSFER_GIFT_HAS_PRICE', 'A gift has no price. Leave the price out, or choose sale or exchange.');
  }
  if (terms.answerBy !== null && compareDays(terms.answerBy, today) < 0) {
    const message = `The day to answer by, ${terms.answerBy}, is over.`;
    const remedy = `Write ${today} or a later day, or leave it out.`;
    return refuse('TRANSFER_ANSWER_DAY_PAST', message, { fields: [{ path: 'input.answerBy', message, remedy }] });
  }
  const misfit = titleProblem(terms, today) ?? loanTermsProblem(terms);
  if (misfit !== null) return misfit;
  const later = { countersigning: [], takenUpAt: null, carrier: null, tracking: null, way: null, endedReason: null };
  const unpaid = { payments: [], paidUpOn: null };
  return decide({ ...terms, ...later, ...unpaid, version: 1, state: 'offered' });
}
