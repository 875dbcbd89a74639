-- Pictures and papers of animals. Lock cost: none to speak of, the table is new; two foreign keys lock animal and keeper for a moment.

-- CreateTable
CREATE TABLE "animal_file" (
    "id" UUID NOT NULL,
    "animal_id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "file_name" TEXT NOT NULL,
    "caption" TEXT,
    "original_sha256" TEXT NOT NULL,
    "original_type" TEXT NOT NULL,
    "original_size" INTEGER NOT NULL,
    "shared_sha256" TEXT,
    "shared_size" INTEGER,
    "thumb_sha256" TEXT,
    "thumb_size" INTEGER,
    "width" INTEGER,
    "height" INTEGER,
    "claimed_taken_at" TEXT,
    "edtf" TEXT,
    "earliest" DATE,
    "latest" DATE,
    "uploaded_at" TIMESTAMPTZ(3) NOT NULL,
    "uploaded_by" UUID NOT NULL,
    "withdrawn_at" TIMESTAMPTZ(3),
    "withdrawn_by" UUID,
    "reason" TEXT,

    CONSTRAINT "animal_file_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "animal_file_keeper_id_idx" ON "animal_file"("keeper_id");

-- CreateIndex
CREATE UNIQUE INDEX "animal_file_animal_id_keeper_id_original_sha256_key" ON "animal_file"("animal_id", "keeper_id", "original_sha256");

-- AddForeignKey
ALTER TABLE "animal_file" ADD CONSTRAINT "animal_file_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "animal_file" ADD CONSTRAINT "animal_file_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE "animal_file" ADD CONSTRAINT "animal_file_day_order" CHECK (earliest <= latest);
-- A picture has both copies and its measures, a paper none of them.
ALTER TABLE "animal_file" ADD CONSTRAINT "animal_file_copies" CHECK (num_nonnulls(shared_sha256, shared_size, thumb_sha256, thumb_size, width, height) IN (0, 6));
ALTER TABLE "animal_file" ADD CONSTRAINT "animal_file_withdrawn_told" CHECK ((withdrawn_at IS NULL) = (reason IS NULL));
