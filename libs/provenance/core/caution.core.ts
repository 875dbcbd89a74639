/** Stands beside every finding. */
export const ORIGIN_CAUTION =
  'This is what the records say, no legal advice. Local law and the licensing authority decide.';
