/** A possible parent and its probability; none = unknown. */
export type Share = { readonly parentId: string; readonly probability: number };
/** An animal with its possible sires and dams. */
export type Family = { readonly id: string; readonly sire: readonly Share[]; readonly dam: readonly Share[] };

/**
 * Inbreeding of every animal by the definition, one pair at a time: kinship with a younger animal is the mean over its
 * possible parents, with itself (1 + F) / 2 (Malécot 1948; uncertain parents: Henderson 1988). Slow, and independent of
 * libs/genetics.
 */
export function inbreedingByDefinition(families: readonly Family[]): Map<string, number> {
  const byId = new Map(families.map((family) => [family.id, family]));
  const depths = new Map<string, number>();
  const depthOf = (id: string): number => {
    const known = depths.get(id);
    if (known !== undefined) return known;
    const family = byId.get(id);
    const parents = family === undefined ? [] : [...family.sire, ...family.dam];
    const depth = 1 + Math.max(-1, ...parents.map(({ parentId }) => depthOf(parentId)));
    depths.set(id, depth);
    return depth;
  };
  const known = new Map<string, number>();
  const inbreeding = (id: string): number => {
    const { sire = [], dam = [] } = byId.get(id) ?? {};
    return sire.reduce(
      (sum, s) =>
        sum + dam.reduce((part, d) => part + s.probability * d.probability * kinship(s.parentId, d.parentId), 0),
      0,
    );
  };
  const kinship = (a: string, b: string): number => {
    if (depthOf(a) < depthOf(b) || (depthOf(a) === depthOf(b) && a < b)) return kinship(b, a);
    const key = `${a} ${b}`;
    const before = known.get(key);
    if (before !== undefined) return before;
    const { sire = [], dam = [] } = byId.get(a) ?? {};
    const value =
      a === b
        ? (1 + inbreeding(a)) / 2
        : [...sire, ...dam].reduce(
            (sum, { parentId, probability }) => sum + (probability * kinship(parentId, b)) / 2,
            0,
          );
    known.set(key, value);
    return value;
  };
  return new Map(families.map(({ id }) => [id, inbreeding(id)]));
}
