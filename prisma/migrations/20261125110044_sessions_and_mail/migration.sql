-- Sessions with refresh tokens, codes sent by mail, and what a mail on its way needs.
-- Lock cost: new tables; new columns with constant defaults on account and mail_message, no rewrite.

-- CreateEnum
CREATE TYPE "session_end" AS ENUM ('signed_out', 'revoked', 'token_reused', 'password_changed');

-- CreateEnum
CREATE TYPE "account_code_purpose" AS ENUM ('confirm_email', 'reset_password');

-- CreateEnum
CREATE TYPE "mail_kind" AS ENUM ('notice', 'account');

-- AlterTable
ALTER TABLE "account" ADD COLUMN     "email_confirmed_at" TIMESTAMPTZ(3);

-- AlterTable
ALTER TABLE "mail_message" ADD COLUMN     "attempts" INTEGER NOT NULL DEFAULT 0,
ADD COLUMN     "due_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
ADD COLUMN     "kind" "mail_kind" NOT NULL DEFAULT 'notice',
ADD COLUMN     "last_error" TEXT;

-- CreateTable
CREATE TABLE "session" (
    "id" UUID NOT NULL,
    "account_id" UUID NOT NULL,
    "device" TEXT,
    "created_at" TIMESTAMPTZ(3) NOT NULL,
    "renewed_at" TIMESTAMPTZ(3) NOT NULL,
    "expires_at" TIMESTAMPTZ(3) NOT NULL,
    "ended_at" TIMESTAMPTZ(3),
    "ended_by" "session_end",

    CONSTRAINT "session_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "refresh_token" (
    "hash" BYTEA NOT NULL,
    "session_id" UUID NOT NULL,
    "issued_at" TIMESTAMPTZ(3) NOT NULL,
    "used_at" TIMESTAMPTZ(3),

    CONSTRAINT "refresh_token_pkey" PRIMARY KEY ("hash")
);

-- CreateTable
CREATE TABLE "account_code" (
    "hash" BYTEA NOT NULL,
    "account_id" UUID NOT NULL,
    "purpose" "account_code_purpose" NOT NULL,
    "created_at" TIMESTAMPTZ(3) NOT NULL,
    "expires_at" TIMESTAMPTZ(3) NOT NULL,
    "used_at" TIMESTAMPTZ(3),

    CONSTRAINT "account_code_pkey" PRIMARY KEY ("hash")
);

-- CreateIndex
CREATE INDEX "session_account_id_idx" ON "session"("account_id");

-- CreateIndex
CREATE INDEX "refresh_token_session_id_idx" ON "refresh_token"("session_id");

-- CreateIndex
CREATE INDEX "account_code_account_id_idx" ON "account_code"("account_id");

-- AddForeignKey
ALTER TABLE "session" ADD CONSTRAINT "session_account_id_fkey" FOREIGN KEY ("account_id") REFERENCES "account"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "refresh_token" ADD CONSTRAINT "refresh_token_session_id_fkey" FOREIGN KEY ("session_id") REFERENCES "session"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "account_code" ADD CONSTRAINT "account_code_account_id_fkey" FOREIGN KEY ("account_id") REFERENCES "account"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE "session" ADD CONSTRAINT "session_end_told" CHECK ((ended_at IS NULL) = (ended_by IS NULL));
-- A refresh token is renewed once at a time: of the tokens of a session one is unused at most.
CREATE UNIQUE INDEX "refresh_token_one_unused" ON "refresh_token" (session_id) WHERE used_at IS NULL;
-- What the sender of mails looks for.
CREATE INDEX "mail_message_waiting" ON "mail_message" (due_at) WHERE sent_at IS NULL;
