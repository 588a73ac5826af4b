"""The step Stock: boards, lasers and coupons."""
