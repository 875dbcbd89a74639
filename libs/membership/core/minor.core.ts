import { type Day, decide, type Decision, type KeeperRole, refuse, shiftDay } from '../../kernel/index.js';

/** What stands behind a keeper: whether it is a minor's today, and whether a guardian has accepted. */
export type Standing = { readonly minor: boolean; readonly guarded: boolean };

/** What a keeper does with others. Recording its own animals needs nobody. */
export type SharedAct = 'transfer' | 'reading' | 'take_up' | 'club' | 'thread' | 'claim' | 'loan';

/** Who acts for a minor's keeper once it has a guardian: anybody of it (a transfer is countersigned), or a guardian alone. */
const ACTS: Readonly<Record<SharedAct, 'anybody' | 'guardian'>> = {
  transfer: 'anybody',
  reading: 'anybody',
  take_up: 'guardian',
  club: 'guardian',
  thread: 'guardian',
  claim: 'guardian',
  // Another last day, and picks of the young: nothing is sent that a guardian could countersign.
  loan: 'guardian',
};

/** Longest time for which a keeper can be a minor's, in years. The age of majority is 21 at most (from memory); the law of the place decides. */
const LONGEST_YEARS = 21;

/** Whether somebody in this role can take part for the keeper. Refused GUARDIAN_AWAITED, GUARDIAN_SPEAKS. */
export function mayTakePart(
  act: SharedAct,
  { minor, guarded }: Standing,
  role: KeeperRole | undefined,
): Decision<null> {
  if (!minor) return decide(null);
  if (!guarded)
    return refuse(
      'GUARDIAN_AWAITED',
      'No guardian has accepted yet, so this keeper records its animals, and nothing with others. Ask the guardian to accept the invitation, or invite one.',
    );
  if (ACTS[act] === 'guardian' && role !== 'guardian')
    return refuse('GUARDIAN_SPEAKS', 'The guardian speaks for this keeper here. Ask the guardian to do it.');
  return decide(null);
}

/** Whether the keeper can have an animal of the taxon: a minor's has none that is dangerous to people. */
export function mayHave(
  { minor }: Pick<Standing, 'minor'>,
  { dangerous }: { readonly dangerous: boolean },
): Decision<null> {
  if (!minor || !dangerous) return decide(null);
  return refuse(
    'TAXON_DANGEROUS',
    'Animals of this taxon are dangerous to people, and this keeper is a minor’s. An adult keeper holds them; local codes and the licensing authority decide who may.',
  );
}

/** Whether a keeper that is opened today can count as a minor's until the day (excluded). */
export function minorUntilPossible(until: Day, today: Day): boolean {
  return until > today && until <= shiftDay(today, Math.ceil(LONGEST_YEARS * 365.25));
}

/** Whether somebody may be made a guardian by invitation: the first by an owner, each further one by a guardian. */
export function mayInviteGuardian({ minor, guarded }: Standing, inviter: KeeperRole | undefined): Decision<null> {
  if (!minor) return refuse('NOT_A_MINOR', 'Only the keeper of a minor has guardians.');
  if (guarded && inviter !== 'guardian')
    return refuse('GUARDIAN_DECIDES', 'Only a guardian invites another guardian, or ends one.');
  return decide(null);
}
