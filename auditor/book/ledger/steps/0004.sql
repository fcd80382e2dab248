-- What the carrier measured is called so, in every table.
ALTER TABLE lines RENAME COLUMN read_weight_pg TO measured_weight_pg;
ALTER TABLE notices RENAME COLUMN read_length_nm TO measured_length_nm;
ALTER TABLE notices RENAME COLUMN read_width_nm TO measured_width_nm;
ALTER TABLE notices RENAME COLUMN read_height_nm TO measured_height_nm;
ALTER TABLE notices RENAME COLUMN read_weight_pg TO measured_weight_pg;

-- The fields of kept layouts, quoted as in JSON, where no heading between other quotation marks is touched.
UPDATE layout SET columns = replace(replace(columns, ': "read_weight_pg"', ': "measured_weight_pg"'), ': "read_size"', ': "measured_size"');
UPDATE layout SET columns = replace(replace(replace(columns, ': "read_length_nm"', ': "measured_length_nm"'), ': "read_width_nm"', ': "measured_width_nm"'), ': "read_height_nm"', ': "measured_height_nm"');
