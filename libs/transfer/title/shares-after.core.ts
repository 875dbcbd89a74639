/** A party that can own a share, and its parts. */
type Share<Owner> = { readonly owner: Owner; readonly parts: number };

/**
 * Owners after a hand-over: the giver's parts are the receiver's, joined with what the receiver had; other owners keep
 * theirs. `same` tells whether two owners are one party.
 */
export function sharesAfter<Owner>(
  shares: readonly Share<Owner>[],
  giver: Owner,
  receiver: Owner,
  same: (a: Owner, b: Owner) => boolean,
): Share<Owner>[] {
  const moved = shares.filter(({ owner }) => same(owner, giver) || same(owner, receiver));
  const kept = shares.filter((share) => !moved.includes(share));
  const parts = moved.reduce((sum, share) => sum + share.parts, 0);
  return parts === 0 ? kept : [...kept, { owner: receiver, parts }];
}
