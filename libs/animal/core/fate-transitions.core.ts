import { type Decision, decide, refuse } from '../../kernel/index.js';
import type { Fate } from './fact.core.js';

/** Which fate can follow on which. Nothing follows on a death but its correction, which takes the death back. */
export const FATE_TRANSITIONS: Readonly<Record<Fate, readonly Fate[]>> = {
  alive: ['dead', 'missing', 'stolen', 'escaped', 'seized', 'surrendered', 'left_registry'],
  missing: ['alive', 'dead', 'stolen', 'escaped', 'seized'],
  escaped: ['alive', 'dead', 'missing', 'stolen', 'seized'],
  stolen: ['alive', 'dead', 'missing', 'seized'],
  seized: ['alive', 'dead', 'surrendered'],
  surrendered: ['alive', 'dead'],
  left_registry: ['alive', 'dead'],
  dead: [],
};

/** Fates from which no way leads on. */
export const FINAL_FATES: readonly Fate[] = ['dead'];

/** What a keeper can say of an animal; `found`: it is back. A death is recorded with `recordDeath`. */
export const FATE_CHANGES = [
  'missing',
  'stolen',
  'escaped',
  'seized',
  'surrendered',
  'left_registry',
  'found',
] as const;
export type FateChange = (typeof FATE_CHANGES)[number];

/** The fate after a change. */
export function fateAfter(change: FateChange): Fate {
  return change === 'found' ? 'alive' : change;
}

/** May this be said of an animal with that fate? `isOwner`: the viewer acts for somebody who owns a share. */
export function decideFate(from: Fate, change: FateChange, isOwner: boolean): Decision<Fate> {
  const to = fateAfter(change);
  if (change === 'stolen' && !isOwner)
    return refuse('THEFT_BY_OWNER_ONLY', 'Only an owner reports a theft. Record it as missing, and tell the owner.');
  if (from === 'stolen' && !isOwner)
    return refuse('THEFT_BY_OWNER_ONLY', 'An owner has reported it stolen: only an owner can say that it is back.');
  if (FATE_TRANSITIONS[from].includes(to)) return decide(to);
  if (from === to) return refuse('FATE_ALREADY', `It is recorded as ${from.replaceAll('_', ' ')} already.`);
  return refuse(
    'FATE_IMPOSSIBLE',
    from === 'dead'
      ? 'It is recorded as dead. Correct the death first if that is wrong.'
      : `An animal recorded as ${from.replaceAll('_', ' ')} does not become ${change.replaceAll('_', ' ')}. Record it as found first.`,
  );
}
