import {
  compareDays,
  type Day,
  type Decision,
  decide,
  type FieldProblem,
  greatestCommonDivisor,
  MAX_SHARE_PARTS,
  refuse,
} from '../../kernel/index.js';
import { type AnimalAtHand, type Receiver, type Share, type TransferTerms } from '../core/transfer.core.js';

/** Most instalments of a price: a payment a month over two years. Common practice, no published source. */
export const MAX_INSTALMENTS = 24;

/** What of an offer says when and whether property moves. */
export type TitleTerms = Pick<TransferTerms, 'kind' | 'receiver' | 'price' | 'title' | 'dueBack' | 'instalments'> & {
  readonly items: readonly { readonly share: Share | null }[];
  readonly eggs: readonly unknown[];
};

const LENT: readonly TransferTerms['kind'][] = ['breeding_loan', 'loan_return'];

/** What is wrong with the terms about property; null when they fit together. */
export function titleProblem(terms: TitleTerms, today: Day): Decision<never> | null {
  return kindProblem(terms) ?? dueBackProblem(terms, today) ?? priceProblem(terms) ?? instalmentsProblem(terms);
}

function misfit(path: string, message: string, remedy: string): Decision<never> {
  return refuse('TRANSFER_TERMS_MISFIT', `${message} ${remedy}`, { fields: [{ path, message, remedy }] });
}

function kindProblem({ kind, title, receiver, items, eggs }: TitleTerms): Decision<never> | null {
  if (LENT.includes(kind) !== (title === 'stays')) {
    return LENT.includes(kind)
      ? misfit('input.title', 'A loan and a return leave the owner as it is.', 'Write stays, or leave the title out.')
      : misfit('input.title', 'Property stays only with a loan or a return.', 'Choose on_receipt or when_paid.');
  }
  if (title !== 'on_receipt' && receiver.kind !== 'keeper') {
    const message = 'Somebody without an account could neither give the animals back here nor say that they paid.';
    return misfit(
      'input.toOutsideParty',
      message,
      'Ask them to open an account first, or let property move on receipt.',
    );
  }
  if (title !== 'on_receipt' && eggs.length > 0) {
    const message = 'Eggs go for good: what hatches would come out of a record that is not the receiver’s.';
    return misfit('input.eggs', message, 'Hand the eggs over in a transfer of their own.');
  }
  const shared = items.findIndex(({ share }) => share !== null);
  if (title === 'stays' && shared >= 0) {
    return misfit(`input.items.${shared}.share`, 'No share moves with a loan or a return.', 'Leave the share out.');
  }
  return null;
}

function dueBackProblem({ kind, dueBack }: TitleTerms, today: Day): Decision<never> | null {
  const path = 'input.dueBack';
  if (kind === 'breeding_loan') {
    if (dueBack === null)
      return misfit(path, 'A loan needs the day the animals are due back.', 'Write the day you agreed on.');
    if (compareDays(dueBack, today) < 0)
      return misfit(path, `The day the animals are due back, ${dueBack}, is over.`, `Write ${today} or a later day.`);
    return null;
  }
  return dueBack === null ? null : misfit(path, 'Only what is lent is due back.', 'Leave the day out.');
}

function priceProblem({ kind, title, price }: TitleTerms): Decision<never> | null {
  if (title === 'when_paid' && (price === null || price.minor === 0))
    return misfit('input.price', 'Property that waits for payment needs a price.', 'Write the price.');
  if (LENT.includes(kind) && price !== null)
    return misfit('input.price', 'A loan and a return have no price.', 'Leave the price out.');
  return null;
}

function instalmentsProblem({ title, price, instalments }: TitleTerms): Decision<never> | null {
  if (instalments.length === 0) return null;
  const path = 'input.instalments';
  if (title !== 'when_paid' || price === null)
    return misfit(path, 'Only property that waits for payment is paid for by instalments.', 'Choose when_paid.');
  const fields = instalments.flatMap(({ dueOn }, i): FieldProblem[] => {
    const before = instalments[i - 1];
    if (before === undefined || compareDays(before.dueOn, dueOn) < 0) return [];
    const message = `${dueOn} does not come after ${before.dueOn}.`;
    return [
      { path: `${path}.${i}.dueOn`, message, remedy: 'Write instalments in the order they fall due, one a day.' },
    ];
  });
  const [first] = fields;
  if (first !== undefined) return refuse('TRANSFER_TERMS_MISFIT', `${first.message} ${first.remedy}`, { fields });
  const sum = instalments.reduce((total, { minor }) => total + minor, 0);
  if (sum === price.minor) return null;
  const off = Math.abs(price.minor - sum);
  const message = `The instalments sum to ${sum}, the price is ${price.minor} (in minor units): ${off} too ${sum < price.minor ? 'little' : 'much'}.`;
  const remedy = 'Make them sum to the price exactly.';
  return refuse('INSTALMENTS_DO_NOT_SUM', `${message} ${remedy}`, { fields: [{ path, message, remedy }] });
}

/** Who hands what over to whom, as far as property is concerned. */
type Parties = { readonly giverId: string; readonly receiver: Receiver; readonly returning: boolean };

/** What the owners of the animals leave impossible; null when nothing. `animals` are the facts of every item, under lock. */
export function propertyProblem(
  { giverId, receiver, returning }: Parties,
  items: readonly { readonly animalId: string; readonly share: Share | null }[],
  animals: ReadonlyMap<string, AnimalAtHand>,
): Decision<never> | null {
  for (const [i, { animalId, share }] of items.entries()) {
    const owners = animals.get(animalId)?.owners ?? [];
    if (returning && (receiver.kind !== 'keeper' || !owners.some(({ keeperId }) => keeperId === receiver.keeperId))) {
      const remedy = 'Return it to the keeper it came from.';
      const message = `The receiver does not own this animal, and a return goes to an owner. ${remedy}`;
      return refuse('TRANSFER_NOT_TO_OWNER', message, { blockers: [{ kind: 'animal', id: animalId, remedy }] });
    }
    if (share === null) continue;
    const to = receiver.kind === 'keeper' ? receiver.keeperId : receiver.outsidePartyId;
    const shares = owners.map(({ keeperId, parts }) => ({ owner: keeperId, parts }));
    const after = sharesAfterPart<string | null>(shares, giverId, to, share, (a, b) => a === b && a !== null);
    if (after.ok) continue;
    const { rule, message } = after.refusal;
    return refuse(rule, message, {
      fields: [{ path: `input.items.${i}.share`, message, remedy: 'Hand over at most what the giver owns.' }],
    });
  }
  return null;
}

/** Property of an animal whose owners disagree does not move; null when none of these is such. */
export function frozenProblem(animals: readonly Pick<AnimalAtHand, 'id' | 'ownership'>[]): Decision<never> | null {
  const disputed = animals.filter(({ ownership }) => ownership === 'disputed');
  if (disputed.length === 0) return null;
  const remedy = 'Settle the ownership first.';
  return refuse('TRANSFER_OWNER_DISPUTED', `Whose property the animal is, is disputed. ${remedy}`, {
    blockers: disputed.map(({ id }) => ({ kind: 'animal', id, remedy })),
  });
}

/** A party that can own a share, and its parts. */
type OwnerParts<Owner> = { readonly owner: Owner; readonly parts: number };

/**
 * Owners after `share` of the whole animal went from the giver to the receiver; the giver keeps the rest of its own, others
 * keep theirs. Refuses SHARE_TOO_LARGE when the giver owns less, SHARE_TOO_FINE when the parts could not be written.
 */
export function sharesAfterPart<Owner>(
  shares: readonly OwnerParts<Owner>[],
  giver: Owner,
  receiver: Owner,
  share: Share,
  same: (a: Owner, b: Owner) => boolean,
): Decision<OwnerParts<Owner>[]> {
  const whole = shares.reduce((sum, { parts }) => sum + parts, 0);
  const partsOf = (party: Owner): number => shares.find(({ owner }) => same(owner, party))?.parts ?? 0;
  // In parts of whole × of, in which both the shares and what moves are whole numbers.
  const moved = share.parts * whole;
  const left = partsOf(giver) * share.of - moved;
  if (left < 0) {
    const message = `The giver owns ${partsOf(giver)} of ${whole} parts of the animal, less than ${share.parts} of ${share.of}.`;
    const remedy = 'Hand over at most what the giver owns.';
    return refuse('SHARE_TOO_LARGE', `${message} ${remedy}`);
  }
  const others = shares.filter(({ owner }) => !same(owner, giver) && !same(owner, receiver));
  const after = [
    ...others.map(({ owner, parts }) => ({ owner, parts: parts * share.of })),
    ...(left > 0 ? [{ owner: giver, parts: left }] : []),
    { owner: receiver, parts: partsOf(receiver) * share.of + moved },
  ];
  const divisor = after.map(({ parts }) => parts).reduce(greatestCommonDivisor);
  const lowest = after.map(({ owner, parts }) => ({ owner, parts: parts / divisor }));
  if (lowest.some(({ parts }) => parts > MAX_SHARE_PARTS))
    return refuse('SHARE_TOO_FINE', `The share is too fine: no party can own more than ${MAX_SHARE_PARTS} parts.`);
  return decide(lowest);
}
