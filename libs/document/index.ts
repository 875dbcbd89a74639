/** Holding documents: what they say and cover, their files, and the warnings before they lapse. The licensing authority decides. */
export { AddFile, type AddedFile, type AddFileCommand } from './app/add-file.js';
export { RecordDocument, type RecordDocumentCommand } from './app/record-document.js';
export { SupersedeDocument, type SupersedeDocumentCommand } from './app/supersede-document.js';
export { type Cover, type DocumentKind, type DocumentStatement } from './core/document.core.js';
export { type ExpirySlot, type ExpiryState, expiryState, slotDue } from './core/expiry.core.js';
export { importCovers, latestLastDay, type PermitForm } from './core/permit-validity.core.js';
export { DocumentModule } from './document.module.js';
export { HoldingDocumentKindType, HoldingDocumentType, toDocumentType } from './graphql/document.types.js';
export { CheckExpiryHandler } from './jobs/check-expiry.handler.js';
export { checkExpiry, DOCUMENT_EXPIRY, documentExpiryNotice, requestExpiryCheck } from './jobs/check-expiry.job.js';
export { DocumentJobsModule } from './jobs/document-jobs.module.js';
export { DocumentReadStore, type DocumentView, type StoredFile } from './store/document-read.store.js';
export { copyCovers } from './store/copy-covers.store.js';
