export {
  commitment,
  defineLedgerAction,
  type LedgerAction,
  type LedgerFacts,
  leafHash,
  LedgerWriter,
} from './ledger.js';
