//! Linear equations, solved another way than the library does.

/// Three equations by Cramer's rule.
pub fn solved(rows: [[f64; 4]; 3]) -> (f64, f64, f64) {
    let determinant = |c: [usize; 3]| {
        let [x, y, z] = c;
        rows[0][x] * (rows[1][y] * rows[2][z] - rows[1][z] * rows[2][y])
            - rows[0][y] * (rows[1][x] * rows[2][z] - rows[1][z] * rows[2][x])
            + rows[0][z] * (rows[1][x] * rows[2][y] - rows[1][y] * rows[2][x])
    };
    let whole = determinant([0, 1, 2]);
    (determinant([3, 1, 2]) / whole, determinant([0, 3, 2]) / whole, determinant([0, 1, 3]) / whole)
}
