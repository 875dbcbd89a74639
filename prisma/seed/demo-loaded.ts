/** The ledger action that says the demo is complete. */
export const DEMO_LOADED = 'demo.loaded';
