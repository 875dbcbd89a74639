export {
  commitment,
  defineLedgerAction,
  type LedgerAction,
  type LedgerFacts,
  leafHash,
  LedgerWriter,
  readLedgerBody,
} from './ledger.js';
