/** Everything a signed-in viewer can ask for. An operation names its action with `@Authorize`; one without stops the boot. */
export const ACTIONS = {
  'membership.read-own': 'Read the own account, keepers and notices.',
  'membership.open-keeper': 'Open a keeper for the own account.',
} as const;

export type ActionName = keyof typeof ACTIONS;
