/** Ids the registry gave to what a command made, in order. */
export type Made = readonly string[];

/**
 * What should become of a command. `refused`: the rule or code, several where the first is a matter of order, '*' for any.
 * `entries`: what is written all the same. `unless`: rules that may refuse it, because the model does not know enough.
 */
export type Forecast =
  | { readonly refused: readonly string[]; readonly entries: number; apply(): void }
  | { readonly entries: number; readonly unless: readonly string[]; apply(made: Made): void };

export const no = (...refused: string[]): Forecast => ({ refused, entries: 0, apply: () => undefined });
export const yes = (apply: (made: Made) => void, unless: readonly string[] = [], entries = 1): Forecast => ({
  entries,
  unless,
  apply,
});
