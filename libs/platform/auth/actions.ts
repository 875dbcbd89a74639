/** Everything a signed-in viewer can ask for. An operation names its action with `@Authorize`; one without stops the boot. */
export const ACTIONS = {
  'membership.read-own': 'Read the own account, keepers and notices.',
  'membership.open-keeper': 'Open a keeper for the own account.',
  'taxon.read': 'Read taxa and their lines.',
  'animal.read': 'Read an animal, as far as it is shown to the viewer.',
  'animal.read-collection': 'Read the collection of an own keeper.',
  'animal.record-fact': 'Record a fact about an animal an own keeper has or owns.',
  'animal.register': 'Register an animal or a lot for an own keeper.',
  'animal.split-lot': 'Split a lot an own keeper has.',
  'animal.record-death': 'Record a death in the collection of an own keeper.',
  'custody.read-stock-book': 'Read the stock book of an own keeper.',
  'lineage.record-parent': 'Record a parent of an animal an own keeper has or owns.',
  'transfer.read': 'Read transfers an own keeper gives or receives.',
  'transfer.offer': 'Offer animals of an own keeper.',
  'transfer.accept': 'Accept an offer to an own keeper, or attest that an outside party did.',
  'transfer.send': 'Send the animals an own keeper gives.',
  'transfer.receive': 'Say how animals arrived with an own keeper, or attest it for an outside party.',
  'transfer.decline': 'Decline an offer to an own keeper, or attest that an outside party did.',
  'transfer.withdraw': 'Withdraw an offer of an own keeper.',
  'transfer.take-up': 'Take up with a claim code what was received before there was an account.',
  'transfer.print-record': 'Print the record of animals an own keeper gives or receives.',
  'lineage.read-relationship': 'Read how two visible animals are related.',
  'matching.find-mates': 'Ask for mates of an animal that an own keeper has or owns.',
} as const;

export type ActionName = keyof typeof ACTIONS;
