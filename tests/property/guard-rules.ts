import { type Model, type Side, type Transfer } from './history-model.js';
import { type Forecast, no, yes } from './forecast.js';

/** A command of a guardian about a transfer of the minor's keeper. */
export type GuardCommand = { readonly by: string } & {
  readonly do: 'countersign' | 'uncountersign';
  readonly transfer: string;
};

/** The sides of a transfer whose keepers are minors', and the keeper of each. */
function minorSides(model: Model, { from, to, outside }: Transfer): (readonly [Side, string])[] {
  const sides = [['giver', from] as const, ...(outside ? [] : [['receiver', to] as const])];
  return sides.filter(([, keeper]) => model.isMinors(keeper));
}

/** The sides whose guardian has to agree before anything is sent, and has not. */
export function awaited(model: Model, transfer: Transfer): Side[] {
  return minorSides(model, transfer).flatMap(([side]) => (transfer.signed.has(side) ? [] : [side]));
}

/** What refuses an act that is the guardian's alone, or null. */
export function guardianFault(model: Model, by: string, keeper: string): string | null {
  return model.isMinors(keeper) && !model.guards(by, keeper) ? 'GUARDIAN_SPEAKS' : null;
}

/** What should become of a countersignature, or of taking it back. */
export function forecastGuard(model: Model, { by, do: what, transfer: id }: GuardCommand): Forecast {
  const transfer = model.transfers.get(id);
  if (transfer === undefined) return no('NOT_FOUND');
  const takes = !transfer.outside && model.acts(by, transfer.to);
  if (!model.acts(by, transfer.from) && !takes) return no('NOT_FOUND');
  const guarded = minorSides(model, transfer).filter(([, keeper]) => model.guards(by, keeper));
  if (guarded.length === 0) return no('FORBIDDEN');
  if (transfer.state !== 'offered' && transfer.state !== 'accepted') return no('TRANSFER_COUNTERSIGN_LATE');
  const signs = what === 'countersign';
  const sides = guarded.map(([side]) => side).filter((side) => transfer.signed.has(side) !== signs);
  if (sides.length === 0) return no(signs ? 'COUNTERSIGNED_ALREADY' : 'COUNTERSIGNATURE_NONE');
  return yes(() => {
    for (const side of sides)
      if (signs) transfer.signed.add(side);
      else transfer.signed.delete(side);
  });
}
