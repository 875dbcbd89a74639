import fc from 'fast-check';
import { awaited } from './guard-rules.js';
import { accountOf, NOBODY, number, pick, Step, step } from './history-drafts.js';
import { type Model } from './history-model.js';
import { type Cast } from './history-world.js';

const isUnsent = ({ state }: { readonly state: string }): boolean => state === 'offered' || state === 'accepted';

/** Mostly the guardian. */
function guardian(model: Model, cast: Cast, n: number): string {
  const guardians = cast.accounts.filter((account) => cast.keepers.some((keeper) => model.guards(account, keeper)));
  return (n % 8 === 7 ? undefined : pick(guardians, n)) ?? accountOf(cast, n);
}

const sign = step(number, (n, model, cast) => {
  const all = [...model.transfers.values()];
  const waits = all.filter((transfer) => isUnsent(transfer) && awaited(model, transfer).length > 0);
  const transfer = (n % 9 === 8 ? undefined : pick(waits, n)) ?? pick(all, n);
  return { do: 'countersign', transfer: transfer?.id ?? NOBODY, by: guardian(model, cast, n) };
});

const takeBack = step(number, (n, model, cast) => {
  const all = [...model.transfers.values()];
  const signed = all.filter((transfer) => isUnsent(transfer) && transfer.signed.size > 0);
  const transfer = (n % 9 === 8 ? undefined : pick(signed, n)) ?? pick(all, n);
  return { do: 'uncountersign', transfer: transfer?.id ?? NOBODY, by: guardian(model, cast, n) };
});

/** The next thing of a guardian; where nobody is a minor, now and then all the same. */
const guard = fc
  .tuple(number, sign, takeBack)
  .map(([n, signs, takes]) => new Step((model, cast) => (n % 5 === 4 ? takes : signs).drafted(model, cast)));

/** Commands about countersignatures. */
export const guardKinds = [...Array<typeof guard>(6).fill(guard), sign, takeBack];
