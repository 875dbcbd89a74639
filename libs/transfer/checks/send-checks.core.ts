import { type Blocker, type Day, daysBetween, type Decision, decide, refuse } from '../../kernel/index.js';
import { awaitedSides } from './countersign.core.js';
import { type Transfer, type TransferCondition } from '../core/transfer.core.js';

/** What is looked at before animals are sent. */
export const SEND_CHECKS = [
  'document',
  'quarantine',
  'minimum',
  'condition',
  'loan',
  'report',
  'title',
  'countersignature',
  'eggs',
] as const;
export type SendCheck = (typeof SEND_CHECKS)[number];

/** A warning lets the animals go and is recorded; a block does not. */
export type CheckEffect = 'warn' | 'block';

/** Checks of which clubs decide what they do. */
export const POLICY_CHECKS = ['document', 'quarantine', 'minimum'] as const;
export type PolicyCheck = (typeof POLICY_CHECKS)[number];

/** What clubs can decide. A condition of the two parties always blocks, and so does what is another's to decide on. */
export type SendPolicy = Readonly<Record<PolicyCheck, CheckEffect>>;

/** Where no club both parties belong to says otherwise. Common practice, no published source. */
export const DEFAULT_POLICY: SendPolicy = { document: 'warn', quarantine: 'block', minimum: 'warn' };

/** What the checks have to know of an animal on the day of sending. */
export type SendFacts = {
  readonly animalId: string;
  /** The appendix the species is listed in, by its profile. */
  readonly appendix: string | null;
  /** Kinds of the giver's documents in force that cover the animal. */
  readonly documentKinds: readonly string[];
  readonly inQuarantine: boolean;
  /** `borrowed`: the giver has it and owns no share. `lent`: the giver owns a share, and another keeper has it. */
  readonly loan: 'borrowed' | 'lent' | null;
  /** Recorded as missing or stolen, or an open report says so. */
  readonly reported: 'missing' | 'stolen' | null;
  readonly disputed: boolean;
  readonly bornAt: { readonly latest: Day | null };
  readonly lastGrams: number | null;
  readonly minimum: {
    readonly days?: number | undefined;
    readonly grams?: number | undefined;
    readonly source: string;
  } | null;
};

/** One thing found: the fact, what it does, and what would clear it. `subjectId` is the animal, the condition, or the transfer. */
export type CheckResult = {
  readonly check: SendCheck;
  readonly effect: CheckEffect;
  readonly subjectId: string;
  readonly fact: string;
  readonly clears: string;
};

/**
 * Everything that stands against sending on a day, and how strongly. What is not known warns nobody. The licensing authority
 * decides which documents are needed; this only notices that none is recorded.
 */
export function checkSending(
  transfer: Pick<Transfer, 'id' | 'state' | 'conditions' | 'kind' | 'countersigning' | 'eggs'>,
  animals: readonly SendFacts[],
  policy: SendPolicy,
  on: Day,
): CheckResult[] {
  const found = animals.flatMap((animal) => [
    ...propertyChecks(animal, transfer.kind),
    ...documentCheck(animal, policy),
    ...quarantineCheck(animal, policy),
    ...minimumCheck(animal, policy, on),
  ]);
  const agreed = transfer.conditions.flatMap((condition) => conditionCheck(condition, animals));
  return [...found, ...agreed, ...countersignChecks(transfer, on), ...eggsNote(transfer)];
}

/** A word on what the other checks do not look at. It keeps nothing from being sent, and is recorded with the sending. */
function eggsNote({ id, eggs }: Pick<Transfer, 'id' | 'eggs'>): CheckResult[] {
  if (eggs.length === 0) return [];
  return [
    {
      check: 'eggs',
      effect: 'warn',
      subjectId: id,
      fact: 'Eggs go along. Documents and the least age and weight of the species are looked at for animals only.',
      clears:
        'Ask what applies where you are: rules on selling or giving away viable eggs are local, and the local authority decides.',
    },
  ];
}

/**
 * One block for each side that is awaited. It says nothing of why: the other side need not know. Of a receiver who has not accepted
 * nothing is said at all, or an offer that is withdrawn again would tell a minor's keeper from an adult's.
 */
function countersignChecks(transfer: Pick<Transfer, 'id' | 'state' | 'countersigning'>, on: Day): CheckResult[] {
  const sides = awaitedSides(transfer, on).filter((side) => side === 'giver' || transfer.state !== 'offered');
  return sides.map((side) => ({
    check: 'countersignature',
    effect: 'block',
    subjectId: transfer.id,
    fact: `The countersignature of the ${side}’s side is awaited.`,
    clears: `The ${side}’s side countersigns the transfer.`,
  }));
}

function propertyChecks({ animalId, loan, reported, disputed }: SendFacts, kind: Transfer['kind']): CheckResult[] {
  const blocked = (check: SendCheck, fact: string, clears: string): CheckResult[] => [
    { check, effect: 'block', subjectId: animalId, fact, clears },
  ];
  const found: CheckResult[] = [];
  if (loan === 'lent')
    found.push(...blocked('loan', 'Another keeper has the animal now.', 'Let it be returned to you first.'));
  if (loan === 'borrowed' && kind !== 'loan_return')
    found.push(...blocked('loan', 'You keep the animal and own no share of it.', 'Return it to an owner instead.'));
  if (reported === 'missing')
    found.push(...blocked('report', 'The animal is recorded as missing.', 'Record it as found first.'));
  if (reported === 'stolen') {
    // A statement of an owner, not a finding: whoever has the animal may have come by it in good faith.
    const fact = 'An owner has stated that the animal was stolen, and that statement is open.';
    found.push(...blocked('report', fact, 'The owner says that it is back, or the authorities decide.'));
  }
  if (disputed)
    found.push(...blocked('title', 'Whose property the animal is, is disputed.', 'Settle the ownership first.'));
  return found;
}

function documentCheck({ animalId, appendix, documentKinds }: SendFacts, policy: SendPolicy): CheckResult[] {
  if ((appendix !== 'I' && appendix !== 'II') || documentKinds.length > 0) return [];
  const fact = `The species is listed in appendix ${appendix}, and no document in force covers the animal.`;
  const clears = 'Record the document that covers it. Ask the licensing authority which one is needed.';
  return [{ check: 'document', effect: policy.document, subjectId: animalId, fact, clears }];
}

function quarantineCheck({ animalId, inQuarantine }: SendFacts, policy: SendPolicy): CheckResult[] {
  if (!inQuarantine) return [];
  const fact = 'The animal is in quarantine.';
  const clears = 'Wait until the quarantine is over, or release it early with a reason.';
  return [{ check: 'quarantine', effect: policy.quarantine, subjectId: animalId, fact, clears }];
}

function minimumCheck({ animalId, minimum, bornAt, lastGrams }: SendFacts, policy: SendPolicy, on: Day): CheckResult[] {
  if (minimum === null) return [];
  const result = (fact: string, clears: string): CheckResult => {
    return {
      check: 'minimum',
      effect: policy.minimum,
      subjectId: animalId,
      fact: `${fact} (${minimum.source})`,
      clears,
    };
  };
  const found: CheckResult[] = [];
  const age = bornAt.latest === null ? null : daysBetween(bornAt.latest, on);
  if (minimum.days !== undefined && age !== null && age < minimum.days) {
    const fact = `It may be ${age} days old; the species is handed over from ${minimum.days} days.`;
    found.push(result(fact, 'Wait, or correct the birth if it is recorded too late.'));
  }
  if (minimum.grams !== undefined && lastGrams !== null && lastGrams < minimum.grams) {
    const fact = `It last weighed ${lastGrams} g; the species is handed over from ${minimum.grams} g.`;
    found.push(result(fact, 'Weigh it again when it has grown.'));
  }
  return found;
}

function conditionCheck(condition: TransferCondition, animals: readonly SendFacts[]): CheckResult[] {
  if (condition.settledAs !== null) return [];
  const waive = 'or the receiver waives the condition.';
  const blocked = (fact: string, clears: string): CheckResult[] => [
    { check: 'condition', effect: 'block', subjectId: condition.id, fact, clears: `${clears}, ${waive}` },
  ];
  switch (condition.kind) {
    case 'after_quarantine':
      if (!animals.some(({ inQuarantine }) => inQuarantine)) return [];
      return blocked('It was agreed that the quarantine ends first.', 'Wait until it is over');
    case 'document': {
      const kind = condition.documentKind ?? '';
      // Of eggs no document is known to cover them: the receiver says whether it has come to pass.
      if (animals.length > 0 && animals.every(({ documentKinds }) => documentKinds.includes(kind))) return [];
      const fact = `It was agreed that a document (${kind}) covers each animal first.`;
      return blocked(fact, 'Record the document and what it covers');
    }
    case 'other':
      return blocked(`It was agreed: ${condition.text ?? ''}`, 'The receiver says that it has come to pass');
  }
}

const BLOCKED_BY: { readonly [check in SendCheck]?: Uppercase<string> } = {
  condition: 'TRANSFER_CONDITION_OPEN',
  countersignature: 'TRANSFER_COUNTERSIGNATURE_AWAITED',
};

/**
 * Whether the animals can go: not while a check blocks, and in spite of a quarantine only where a reason was given. Gives the
 * warnings.
 */
export function passChecks(results: readonly CheckResult[], reasonGiven: boolean): Decision<CheckResult[]> {
  const blocks = results.filter(({ effect }) => effect === 'block');
  const blocker = ({ check, subjectId, clears }: CheckResult): Blocker => {
    const kind = check === 'condition' ? 'condition' : check === 'countersignature' ? 'transfer' : 'animal';
    return { kind, id: subjectId, remedy: clears };
  };
  const [first] = blocks;
  if (first !== undefined) {
    const message = `${first.fact} ${first.clears}`;
    return refuse(BLOCKED_BY[first.check] ?? 'TRANSFER_CHECK_BLOCKS', message, {
      blockers: blocks.map(blocker),
    });
  }
  const quarantined = results.filter(({ check }) => check === 'quarantine');
  if (quarantined.length > 0 && !reasonGiven) {
    const message = 'An animal is in quarantine. Say why it goes all the same.';
    const fields = [
      { path: 'input.reason', message, remedy: 'Give the reason, or wait until the quarantine is over.' },
    ];
    return refuse('TRANSFER_REASON_NEEDED', message, { fields, blockers: quarantined.map(blocker) });
  }
  return decide([...results]);
}
