-- Collections, sharing a keeper sets for them and for single animals, and reading granted to a guest until a day.
-- Lock cost: new tables; three columns that rewrite nothing, under a short exclusive lock on "animal_access" and "keeper".

-- AlterEnum
ALTER TYPE "access_relation" ADD VALUE 'guest';

-- AlterEnum
ALTER TYPE "holdings_audience" ADD VALUE 'other_party' BEFORE 'coordinator';

-- AlterTable
ALTER TABLE "animal_access" ADD COLUMN     "holdings" "holdings_audience",
ADD COLUMN     "lineage_withheld" BOOLEAN NOT NULL DEFAULT false;

-- AlterTable
ALTER TABLE "keeper" ADD COLUMN     "sharing_set_at" TIMESTAMPTZ(3),
ADD COLUMN     "sharing_set_by" UUID;

-- CreateTable
CREATE TABLE "collection" (
    "id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "opened_at" TIMESTAMPTZ(3) NOT NULL,
    "opened_by" UUID NOT NULL,

    CONSTRAINT "collection_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "collection_stay" (
    "id" UUID NOT NULL,
    "collection_id" UUID NOT NULL,
    "access_id" UUID NOT NULL,
    "set_at" TIMESTAMPTZ(3) NOT NULL,
    "set_by" UUID,
    "ended_at" TIMESTAMPTZ(3),

    CONSTRAINT "collection_stay_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "sharing_setting" (
    "id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "collection_id" UUID,
    "access_id" UUID,
    "holdings" "holdings_audience",
    "lineage_withheld" BOOLEAN NOT NULL,
    "set_at" TIMESTAMPTZ(3) NOT NULL,
    "set_by" UUID,
    "ended_at" TIMESTAMPTZ(3),

    CONSTRAINT "sharing_setting_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "reading_grant" (
    "access_id" UUID NOT NULL,
    "granted_by" UUID NOT NULL,
    "granted_at" TIMESTAMPTZ(3) NOT NULL,
    "set_by" UUID,
    "until" DATE NOT NULL,
    "ended_at" TIMESTAMPTZ(3),

    CONSTRAINT "reading_grant_pkey" PRIMARY KEY ("access_id")
);

-- CreateIndex
CREATE INDEX "collection_keeper_id_id_idx" ON "collection"("keeper_id", "id");

-- CreateIndex
CREATE INDEX "collection_stay_collection_id_idx" ON "collection_stay"("collection_id");

-- CreateIndex
CREATE INDEX "collection_stay_access_id_idx" ON "collection_stay"("access_id");

-- CreateIndex
CREATE INDEX "sharing_setting_keeper_id_idx" ON "sharing_setting"("keeper_id");

-- CreateIndex
CREATE INDEX "sharing_setting_collection_id_idx" ON "sharing_setting"("collection_id");

-- CreateIndex
CREATE INDEX "sharing_setting_access_id_idx" ON "sharing_setting"("access_id");

-- CreateIndex
CREATE INDEX "reading_grant_granted_by_idx" ON "reading_grant"("granted_by");

-- AddForeignKey
ALTER TABLE "collection" ADD CONSTRAINT "collection_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "collection_stay" ADD CONSTRAINT "collection_stay_collection_id_fkey" FOREIGN KEY ("collection_id") REFERENCES "collection"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "collection_stay" ADD CONSTRAINT "collection_stay_access_id_fkey" FOREIGN KEY ("access_id") REFERENCES "animal_access"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "sharing_setting" ADD CONSTRAINT "sharing_setting_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "sharing_setting" ADD CONSTRAINT "sharing_setting_collection_id_fkey" FOREIGN KEY ("collection_id") REFERENCES "collection"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "sharing_setting" ADD CONSTRAINT "sharing_setting_access_id_fkey" FOREIGN KEY ("access_id") REFERENCES "animal_access"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "reading_grant" ADD CONSTRAINT "reading_grant_access_id_fkey" FOREIGN KEY ("access_id") REFERENCES "animal_access"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "reading_grant" ADD CONSTRAINT "reading_grant_granted_by_fkey" FOREIGN KEY ("granted_by") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
