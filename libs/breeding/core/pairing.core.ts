import { type Day, decide, type Decision, refuse } from '../../kernel/index.js';
import { type BreedingAnimal, decideMating } from './breeding.core.js';

/** States of a planned pairing. A plan is never evidence, whatever its state. */
export const PAIRING_STATES = ['planned', 'under_way', 'ended', 'dropped'] as const;
export type PairingState = (typeof PAIRING_STATES)[number];

/** Which states follow which. */
export const PAIRING_TRANSITIONS: Readonly<Record<PairingState, readonly PairingState[]>> = {
  planned: ['under_way', 'dropped'],
  under_way: ['ended', 'dropped'],
  ended: [],
  dropped: [],
};

/** Can these two be planned for each other over these days? As for a mating, save that the days may be to come. */
export function decidePairing(
  plan: { dam: BreedingAnimal; sire: BreedingAnimal; from: Day; until: Day | null },
  today: Day,
): Decision<null> {
  if (plan.until !== null && plan.until < plan.from)
    return refuse('PAIRING_DAYS_REVERSED', 'The pairing ends before it begins. Give the earlier day first.');
  return decideMating({ dam: plan.dam, sire: plan.sire, when: null }, today);
}

/** Can a plan move on to this state? */
export function movePairing(from: PairingState, to: PairingState): Decision<PairingState> {
  if (PAIRING_TRANSITIONS[from].includes(to)) return decide(to);
  return refuse(
    'PAIRING_STATE',
    `A pairing that is ${from.replace('_', ' ')} does not become ${to.replace('_', ' ')}.`,
  );
}
